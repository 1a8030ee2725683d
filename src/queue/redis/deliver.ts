import type { Job, Queue } from 'bullmq';
import type { Redis } from 'ioredis';
import { FrameFailure, MeasureJob } from '../../contracts/jobs.js';
import { StopledgerError } from '../../errors.js';
import { JobReturn } from '../bullmq-worker.js';
import type { FrameQueueEvents, MeasureOutcome } from '../port.js';
import type { OwnKeys } from './keys.js';
import { lineUp, type LineUpParts } from './line-up.js';
import { getResult } from './results.js';

export interface DeliverParts {
  redis: Redis;
  queue: Queue;
  keys: OwnKeys;
  /** This process, which delivers a job once at a time. */
  claimant: string;
  line: LineUpParts;
  isPending: (job: MeasureJob) => Promise<boolean>;
  onHandlerError: (error: unknown, job: MeasureJob | null) => void;
  to: Pick<FrameQueueEvents, 'onOutcome'>;
}

/** A service that dies while it stores an outcome keeps the others from it for so long; storing twice changes nothing. */
const CLAIM_MS = 15_000;

/** Given to who holds it already, too: after a break of the connection a process does not wait for its own claim. */
const CLAIM = `
  local held = redis.call('GET', KEYS[1])
  if held and held ~= ARGV[1] then return 0 end
  redis.call('SET', KEYS[1], ARGV[1], 'PX', ARGV[2])
  return 1`;

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
  const returned = JobReturn.safeParse(job.returnvalue);
  if (result === null || !returned.success) return null;
  const { worker, versions } = returned.data;
  return { job: measureJob, ok: true, result, attempts, measuredBy: { worker, versions } };
}

/**
 * What lies beside the job goes before it: as long as it is there a sweep finds it, and what a break left goes then. And
 * again after it: a Redis that lost its last second may have brought back what was removed already.
 */
async function forget({ redis, queue, keys }: DeliverParts, jobId: string, shootId: string | null): Promise<void> {
  const clear = async (...more: string[]): Promise<void> => {
    if (shootId !== null) await redis.srem(keys.shoot(shootId), jobId);
    await redis.del(keys.result(jobId), ...more);
  };
  await clear();
  await queue.remove(jobId);
  await clear(keys.dropped(jobId));
}

/** Stores an outcome and forgets its job, or, where Redis lost the result of a frame that is waited for, measures again. */
async function settle(parts: DeliverParts, jobId: string, job: Job, measureJob: MeasureJob): Promise<void> {
  const { redis, keys, line, isPending, to } = parts;
  if ((await redis.exists(keys.dropped(jobId))) === 1) return forget(parts, jobId, measureJob.shootId);
  const outcome = await outcomeOf(parts, job, measureJob);
  if (outcome !== null) await to.onOutcome(outcome);
  await forget(parts, jobId, measureJob.shootId);
  if (outcome === null && (await isPending(measureJob))) await lineUp(line, jobId, measureJob);
}

/**
 * Hands the outcome of a finished job to the service and then forgets the job. `elsewhere`: another process does, or the
 * job is not finished. `later`: it could not be stored, which is told; the job is kept and delivered by a later sweep.
 */
export async function deliverOutcome(parts: DeliverParts, jobId: string): Promise<'done' | 'elsewhere' | 'later'> {
  const { redis, queue, keys, claimant, onHandlerError } = parts;
  if ((await redis.eval(CLAIM, 1, keys.claim(jobId), claimant, CLAIM_MS)) !== 1) return 'elsewhere';
  let measureJob: MeasureJob | null = null;
  try {
    const job = await queue.getJob(jobId);
    if (job?.finishedOn === undefined) return 'elsewhere';
    const read = MeasureJob.safeParse(job.data);
    if (!read.success) {
      // Of a version that is not understood here: the store still waits for its frame, which is added anew.
      onHandlerError(new StopledgerError('internal', `the job ${jobId} cannot be read and is forgotten`), null);
      await forget(parts, jobId, null);
      return 'done';
    }
    measureJob = read.data;
    await settle(parts, jobId, job, measureJob);
    return 'done';
  } catch (error) {
    onHandlerError(error, measureJob);
    return 'later';
  } finally {
    await redis.eval(RELEASE, 1, keys.claim(jobId), claimant).catch(() => undefined);
  }
}
