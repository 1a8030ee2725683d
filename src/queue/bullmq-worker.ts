import { setTimeout as delay } from 'node:timers/promises';
import { type Job, UnrecoverableError, WaitingError, Worker } from 'bullmq';
import { z } from 'zod';
import { MeasureJob, type MeasuredFrame } from '../contracts/jobs.js';
import { StopledgerError, asStopledgerError } from '../errors.js';
import type { FrameSource } from './frame-source.js';
import type { MeasuringPool } from './measuring-pool.js';
import { type RedisLink, connectRedis, refuseEviction } from './redis/connection.js';
import { QUEUE_NAME, ownKeys } from './redis/keys.js';
import { putResult } from './redis/results.js';
import { waitAtMost } from './redis/wait-at-most.js';

/** What a job of the queue returns; the measurement itself lies beside it, see `redis/results.ts`. */
export const JobReturn = z.object({
  /** Who measured: host and process id. */
  worker: z.string(),
  /** Of this package and the libraries that measure. */
  versions: z.record(z.string(), z.string()),
  resultBytes: z.number(),
});
export type JobReturn = z.infer<typeof JobReturn>;

export interface FrameWorkerOptions {
  link: RedisLink;
  pool: MeasuringPool;
  source: FrameSource;
  /** The pool's own limit for one attempt; a job's lock outlasts it. */
  timeLimitSeconds: number;
  /** How many workers may die over a frame before it is failed. */
  maxDeaths: number;
  worker: string;
  versions: Readonly<Record<string, string>>;
}

const STALLED_CHECK_MS = 15_000;
/** A Redis that has no room is asked again after so long. */
const ROOM_AGAIN_MS = 1000;
/** Longest that ending takes beyond its deadline. */
const CLOSING_MS = 5000;

/** Takes frames from Redis and measures them in a pool of processes; knows nothing of shoots, stores or the API. */
export interface FrameWorker {
  /** Begins to take frames. */
  run(): void;
  running(): number;
  /** Takes no more, ends what runs within `deadlineMs` and hands back the rest, which it returns. Ends the pool, too. */
  close(deadlineMs: number): Promise<MeasureJob[]>;
}

/** Longer than fetching and measuring one frame honestly takes, so that only a dead worker ever loses its lock. */
const lockMs = (timeLimitSeconds: number): number => Math.ceil(timeLimitSeconds * 1250) + 5000;

/** How an error crosses Redis, which keeps its message only. */
function crossing(error: StopledgerError, attempt: number, attempts: number): Error {
  const last = attempt >= attempts && attempts > 1 ? ` (tried ${attempt} times)` : '';
  const text = JSON.stringify({ code: error.code, message: `${error.message}${error.retryable ? last : ''}` });
  return error.retryable ? new Error(text) : new UnrecoverableError(text);
}

/** Throws `bad-configuration` when Redis cannot be used. The pool has to make one attempt only: the queue counts them. */
export async function openFrameWorker(options: FrameWorkerOptions): Promise<FrameWorker> {
  const { link, pool, source, timeLimitSeconds } = options;
  const redis = await connectRedis(link, 'patient');
  await refuseEviction(redis, link.url).catch((error: unknown) => {
    redis.disconnect();
    throw error;
  });
  const keys = ownKeys(link.prefix);
  const inHand = new Set<AbortController>();
  const handedBack: MeasureJob[] = [];
  let closing = false;

  async function handBack(job: Job, measureJob: MeasureJob, token: string | undefined): Promise<never> {
    await job.moveToWait(token);
    handedBack.push(measureJob);
    throw new WaitingError();
  }

  async function measure(jobId: string, { shootId, sha256, options: how }: MeasureJob, signal: AbortSignal) {
    if ((await redis.exists(keys.dropped(jobId))) === 1) {
      throw new StopledgerError('shoot-not-found', `shoot ${shootId} was deleted`);
    }
    const frame = await source.fetch(shootId, sha256, signal);
    try {
      return await pool.measure({ path: frame.path, options: how, sha256, signal });
    } finally {
      await frame.release();
    }
  }

  /**
   * A Redis without room is waited for, with the result and the slot in hand: measuring again would need that room, too,
   * and a frame is not to blame. It has room again when the service has stored what lies there.
   */
  async function keep(jobId: string, result: MeasuredFrame, signal: AbortSignal): Promise<number> {
    for (;;) {
      try {
        return await putResult(redis, { result: keys.result(jobId), job: worker.toKey(jobId) }, result);
      } catch (error) {
        if (!(error instanceof Error) || !error.message.startsWith('OOM')) throw error;
        link.onTrouble(error);
        await delay(ROOM_AGAIN_MS, undefined, { signal });
      }
    }
  }

  async function process(job: Job, token?: string): Promise<JobReturn> {
    const jobId = job.id ?? '';
    const measureJob = MeasureJob.parse(job.data);
    if (closing) return handBack(job, measureJob, token);
    const abandon = new AbortController();
    inHand.add(abandon);
    try {
      const result = await measure(jobId, measureJob, abandon.signal);
      const resultBytes = await keep(jobId, result, abandon.signal);
      return { worker: options.worker, versions: options.versions, resultBytes };
    } catch (thrown) {
      if (abandon.signal.aborted) return await handBack(job, measureJob, token);
      throw crossing(asStopledgerError(thrown), job.attemptsMade + 1, job.opts.attempts ?? 1);
    } finally {
      inHand.delete(abandon);
    }
  }

  const worker = new Worker(QUEUE_NAME, process, {
    connection: redis,
    prefix: link.prefix,
    autorun: false,
    concurrency: pool.workers,
    lockDuration: lockMs(timeLimitSeconds),
    stalledInterval: Math.min(STALLED_CHECK_MS, lockMs(timeLimitSeconds) / 2),
    maxStalledCount: options.maxDeaths - 1,
    runRetryDelay: 1000,
  });
  worker.on('error', link.onTrouble);

  return {
    run() {
      worker.run().catch(link.onTrouble);
    },

    running: () => inHand.size,

    async close(deadlineMs) {
      closing = true;
      const timer = setTimeout(() => {
        const reason = new StopledgerError('shutting-down', 'out of time');
        for (const abandon of inHand) abandon.abort(reason);
      }, deadlineMs);
      // A Redis that is away must not hold up the end: what runs is then found stalled and measured elsewhere.
      await waitAtMost(deadlineMs + CLOSING_MS, () => worker.close());
      clearTimeout(timer);
      await pool.close();
      redis.disconnect();
      return handedBack;
    },
  };
}
