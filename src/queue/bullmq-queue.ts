import { randomUUID } from 'node:crypto';
import { Queue, QueueEvents } from 'bullmq';
import type { Redis } from 'ioredis';
import PQueue from 'p-queue';
import { MeasureJob } from '../contracts/jobs.js';
import type { FrameWorker } from './bullmq-worker.js';
import type { FrameQueue, FrameQueueEvents } from './port.js';
import { connectRedis, isRedisAway, refuseEviction, type RedisLink } from './redis/connection.js';
import { deliverOutcome } from './redis/deliver.js';
import { ShootsToDrop } from './redis/drop-shoot.js';
import { QUEUE_NAME, jobIdOf, ownKeys } from './redis/keys.js';
import { lineUp } from './redis/line-up.js';
import { LostJobs } from './redis/lost-jobs.js';
import { waitAtMost } from './redis/wait-at-most.js';

export interface BullmqQueueOptions {
  link: RedisLink;
  maxAttempts: number;
  /** Pages of all frames whose outcome the store waits for, whichever process received them. */
  unfinished: () => AsyncIterable<readonly MeasureJob[]>;
  /** Whether the store still waits for this frame's outcome: only then is a job that Redis lost added again. */
  isPending: (job: MeasureJob) => Promise<boolean>;
  /** Told when Redis or an event handler failed; what was to be done is done later. */
  onHandlerError: (error: unknown, job: MeasureJob | null) => void;
  /** Measures in this process, too; ended with the queue. */
  worker?: FrameWorker;
  /** How often outcomes that no event told of, and jobs that Redis lost, are looked for. */
  sweepMs?: number;
  backoffMs?: number;
}

/** Outcomes stored at a time. */
const STORED_AT_ONCE = 8;
/** Longest that adding a frame waits for Redis. */
const ADDING_MS = 1000;
/** Longest that ending takes beyond its deadline. */
const CLOSING_MS = 3000;
const SLOWEST_SWEEP_MS = 30_000;
/** Finished jobs looked at in one sweep. */
const PAGE = 500;

/**
 * The frame queue over Redis, measured by any number of workers on any number of machines. Redis is not the truth of
 * what was received: outcomes are told by events and found by a sweep at the start, on every reconnection and every few
 * seconds; a job that Redis lost is added again as long as the store waits for it. Throws `bad-configuration`.
 */
export async function openBullmqQueue(options: BullmqQueueOptions): Promise<FrameQueue> {
  const { link, worker, isPending, sweepMs = 2000 } = options;
  /** A Redis that is away fails every command: that is told once in a while, and for each frame only once it is added. */
  const onHandlerError = (error: unknown, job: MeasureJob | null): void => {
    if (job === null && isRedisAway(error)) link.onTrouble(error);
    else options.onHandlerError(error, job);
  };
  const redis = await connectRedis(link, 'failing-fast');
  await refuseEviction(redis, link.url).catch((error: unknown) => {
    redis.disconnect();
    throw error;
  });
  const keys = ownKeys(link.prefix);
  const queue = new Queue(QUEUE_NAME, { connection: redis, prefix: link.prefix });
  queue.on('error', link.onTrouble);
  const line = { redis, queue, keys, maxAttempts: options.maxAttempts, backoffMs: options.backoffMs ?? 1000 };

  /** Jobs whose outcome is being delivered. */
  const underWay = new Set<string>();
  const toDrop = new ShootsToDrop({ redis, queue, keys });
  const lost = new LostJobs({ redis, queue, line, unfinished: options.unfinished, isPending, isUnderWay: (id) => underWay.has(id) }); // prettier-ignore
  const starts = new PQueue({ concurrency: 1 });
  /** Job id -> the last that is to be told of it, until that is done. */
  const telling = new Map<string, Promise<void>>();
  const claimant = randomUUID();
  const deliveries = new PQueue({ concurrency: STORED_AT_ONCE });
  let told: { heard: QueueEvents; connection: Redis } | null = null;
  let events: FrameQueueEvents | null = null;
  let timer: NodeJS.Timeout | null = null;
  let sweeping: Promise<void> = Promise.resolve();
  let failuresSinceSweep = 0;
  let sweepDelayMs = sweepMs;
  /** Redis did not take a job: the next sweep looks at all that wait. */
  let missed = false;
  let closed = false;

  async function jobOf(jobId: string): Promise<MeasureJob | null> {
    const read = MeasureJob.safeParse((await queue.getJob(jobId))?.data);
    return read.success ? read.data : null;
  }

  /** Starts and returns are told in the order in which they happened. */
  function tell(jobId: string, what: 'onStarted' | 'onReleased'): void {
    const done = starts.add(async () => {
      let job: MeasureJob | null = null;
      try {
        job = await jobOf(jobId);
        if (job !== null) await events?.[what](job);
      } catch (error) {
        onHandlerError(error, job);
      } finally {
        if (telling.get(jobId) === done) telling.delete(jobId);
      }
    });
    telling.set(jobId, done);
  }

  async function deliver(jobId: string): Promise<void> {
    if (underWay.has(jobId) || events === null) return;
    const to = events;
    underWay.add(jobId);
    await deliveries.add(async () => {
      try {
        // Of this job only: others start all the time.
        await telling.get(jobId);
        const done = await deliverOutcome({ redis, queue, keys, claimant, line, isPending, onHandlerError, to }, jobId);
        if (done === 'later') failuresSinceSweep += 1;
      } catch (error) {
        failuresSinceSweep += 1;
        onHandlerError(error, null);
      } finally {
        underWay.delete(jobId);
      }
    });
  }

  async function sweep(all: boolean): Promise<void> {
    await toDrop.remove();
    const delivered = (await queue.getRanges(['completed', 'failed'], 0, PAGE - 1)).map(deliver);
    const wholly = all || missed;
    missed = false;
    await lost.look(wholly).catch((error: unknown) => {
      missed ||= wholly;
      throw error;
    });
    // Not until nothing is delivered: under load that never comes.
    await Promise.all(delivered);
  }

  function sweepSoon(all: boolean): Promise<void> {
    sweeping = sweeping.then(async () => {
      try {
        failuresSinceSweep = 0;
        await sweep(all);
      } catch (error) {
        failuresSinceSweep += 1;
        onHandlerError(error, null);
      }
      sweepDelayMs = failuresSinceSweep > 0 ? Math.min(sweepDelayMs * 2, SLOWEST_SWEEP_MS) : sweepMs;
    });
    return sweeping;
  }

  function sweepRegularly(): void {
    if (closed) return;
    timer = setTimeout(() => {
      void sweepSoon(false).then(sweepRegularly);
    }, sweepDelayMs);
  }

  async function listen(): Promise<{ heard: QueueEvents; connection: Redis }> {
    const [last] = await redis.xrevrange(queue.toKey('events'), '+', '-', 'COUNT', 1);
    const connection = await connectRedis(link, 'patient');
    const heard = new QueueEvents(QUEUE_NAME, { connection, prefix: link.prefix, lastEventId: last?.[0] ?? '0-0' });
    heard.on('error', link.onTrouble);
    heard.on('active', ({ jobId }) => {
      tell(jobId, 'onStarted');
    });
    heard.on('waiting', ({ jobId, prev }) => {
      if (prev === 'active') tell(jobId, 'onReleased');
    });
    heard.on('completed', ({ jobId }) => {
      void deliver(jobId);
    });
    heard.on('failed', ({ jobId }) => {
      void deliver(jobId);
    });
    await heard.waitUntilReady();
    return { heard, connection };
  }

  async function stopListening(): Promise<void> {
    if (told === null) return;
    const { heard, connection } = told;
    told = null;
    await waitAtMost(CLOSING_MS, () => heard.close());
    connection.disconnect();
  }

  async function release(job: MeasureJob): Promise<void> {
    try {
      await events?.onReleased(job);
    } catch (error) {
      onHandlerError(error, job);
    }
  }

  return {
    async start(given) {
      events = given;
      told = await listen();
      for (const id of await queue.getRanges(['active'])) tell(id, 'onStarted');
      await sweepSoon(true);
      redis.on('ready', () => void sweepSoon(true));
      sweepRegularly();
      worker?.run();
    },

    async add(job) {
      if (closed) return; // It stands in the store as received and is put back at the next start.
      // The frame is safe in the store: a Redis that is away, full or silent holds up no upload, and the sweep adds it.
      await waitAtMost(ADDING_MS, () =>
        lineUp(line, jobIdOf(job), job).catch((error: unknown) => {
          missed = true;
          onHandlerError(error, job);
        }),
      );
    },

    async dropShoot(shootId) {
      toDrop.add(shootId);
      try {
        await toDrop.remove();
      } catch (error) {
        onHandlerError(error, null);
      }
    },

    async counts() {
      const counts = await queue.getJobCounts('wait', 'prioritized', 'delayed', 'active');
      const of = (state: string): number => counts[state] ?? 0;
      return { waiting: of('wait') + of('prioritized') + of('delayed'), running: of('active') };
    },

    workers: () => queue.getWorkersCount(),

    async close(deadlineMs) {
      const deadline = performance.now() + deadlineMs;
      closed = true;
      if (timer !== null) clearTimeout(timer);
      await stopListening();
      const handedBack = (await worker?.close(deadlineMs)) ?? [];
      // A Redis or a store that is away must not hold up the end: what is left is found at the next start.
      await waitAtMost(deadline - performance.now() + CLOSING_MS, async () => {
        await sweeping;
        if (events !== null && performance.now() < deadline) await sweepSoon(false);
        deliveries.clear();
        await Promise.all([starts.onIdle(), deliveries.onIdle()]);
        for (const job of handedBack) await release(job);
        await queue.close();
      });
      redis.disconnect();
    },
  };
}
