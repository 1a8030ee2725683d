import { randomUUID } from 'node:crypto';
import type { Job, Queue } from 'bullmq';
import type { Redis } from 'ioredis';
import { FrameFailure, MeasureJob } from '../../contracts/jobs.js';
import { JobReturn } from '../bullmq-worker.js';
import type { FrameQueueEvents, MeasureOutcome } from '../port.js';
import type { OwnKeys } from './keys.js';
import { lineUp, type LineUpParts } from './line-up.js';
import { getResult } from './results.js';

export interface DeliverParts {
  redis: Redis;
  queue: Queue;
  keys: OwnKeys;
  line: LineUpParts;
  isPending: (job: MeasureJob) => Promise<boolean>;
  to: Pick<FrameQueueEvents, 'onOutcome'>;
}

/** A service that dies while it stores an outcome blocks the others for so long. */
const CLAIM_MS = 30_000;

const RELEASE = `if redis.call('GET', KEYS[1]) == ARGV[1] then redis.call('DEL', KEYS[1]) end`;

/** Read back from what a worker threw, or from what BullMQ says of a job whose workers died. */
function failureOf(job: Job): FrameFailure {
  try {
    return FrameFailure.parse(JSON.parse(job.failedReason));
  } catch {
    if (job.failedReason.includes('stalled')) {
      const message = `the worker ended ${job.attemptsStarted - 1} times while this frame was being measured`;
      return { code: 'frame-process-died', message };
    }
    return { code: 'internal', message: job.failedReason };
  }
}

async function outcomeOf(parts: DeliverParts, job: Job, measureJob: MeasureJob): Promise<MeasureOutcome | null> {
  const attempts = job.attemptsMade;
  if (await job.isFailed()) return { job: measureJob, ok: false, failure: failureOf(job), attempts };
  const result = await getResult(parts.redis, parts.keys.result(job.id ?? ''));
  if (result === null) return null;
  const { worker, versions } = JobReturn.parse(job.returnvalue);
  return { job: measureJob, ok: true, result, attempts, measuredBy: { worker, versions } };
}

async function forget({ redis, queue, keys }: DeliverParts, jobId: string, shootId: string): Promise<void> {
  await queue.remove(jobId);
  await redis.del(keys.result(jobId), keys.dropped(jobId));
  await redis.srem(keys.shoot(shootId), jobId);
}

/**
 * Hands the outcome of a finished job to the service and then forgets the job. `elsewhere`: another process does, or the
 * job is not finished. Rejected when it could not be stored: the job is kept and delivered again by a later sweep.
 */
export async function deliverOutcome(parts: DeliverParts, jobId: string): Promise<'done' | 'elsewhere'> {
  const { redis, queue, keys, line, isPending, to } = parts;
  const claimant = randomUUID();
  if ((await redis.set(keys.claim(jobId), claimant, 'PX', CLAIM_MS, 'NX')) === null) return 'elsewhere';
  try {
    const job = await queue.getJob(jobId);
    if (job?.finishedOn === undefined) return 'elsewhere';
    const measureJob = MeasureJob.parse(job.data);
    if ((await redis.exists(keys.dropped(jobId))) === 0) {
      const outcome = await outcomeOf(parts, job, measureJob);
      if (outcome === null) {
        // Redis kept the job but lost the result: measured again.
        await forget(parts, jobId, measureJob.shootId);
        if (!(await isPending(measureJob))) return 'done';
        await lineUp(line, jobId, measureJob);
        return 'elsewhere';
      }
      await to.onOutcome(outcome);
    }
    await forget(parts, jobId, measureJob.shootId);
    return 'done';
  } finally {
    await redis.eval(RELEASE, 1, keys.claim(jobId), claimant).catch(() => undefined);
  }
}
