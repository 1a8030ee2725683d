import { Queue, QueueEvents } from 'bullmq';
import PQueue from 'p-queue';
import { MeasureJob } from '../contracts/jobs.js';
import type { FrameWorker } from './bullmq-worker.js';
import type { FrameQueue, FrameQueueEvents } from './port.js';
import { connectRedis, refuseEviction, type RedisLink } from './redis/connection.js';
import { deliverOutcome } from './redis/deliver.js';
import { QUEUE_NAME, jobIdOf, ownKeys } from './redis/keys.js';
import { lineUp } from './redis/line-up.js';

export interface BullmqQueueOptions {
  link: RedisLink;
  maxAttempts: number;
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
const SLOWEST_SWEEP_MS = 30_000;
/** Jobs looked up in one round trip. */
const PAGE = 500;
const DROPPED_KEPT_MS = 24 * 3600 * 1000;

/**
 * The frame queue over Redis, measured by any number of workers on any number of machines. Redis is not the truth of
 * what was received: outcomes are told by events and found by a sweep at the start, on every reconnection and every few
 * seconds; a job that Redis lost is added again as long as the store waits for it. Throws `bad-configuration`.
 */
export async function openBullmqQueue(options: BullmqQueueOptions): Promise<FrameQueue> {
  const { link, worker, isPending, onHandlerError, sweepMs = 2000 } = options;
  const redis = await connectRedis(link, 'failing-fast');
  await refuseEviction(redis, link.url).catch((error: unknown) => {
    redis.disconnect();
    throw error;
  });
  const keys = ownKeys(link.prefix);
  const queue = new Queue(QUEUE_NAME, { connection: redis, prefix: link.prefix });
  queue.on('error', link.onTrouble);
  const line = { redis, queue, keys, maxAttempts: options.maxAttempts, backoffMs: options.backoffMs ?? 1000 };

  /** Added by this process and not known to be done. */
  const pending = new Map<string, MeasureJob>();
  /** Shoots whose jobs could not be removed yet. */
  const toDrop = new Set<string>();
  const underWay = new Set<string>();
  const starts = new PQueue({ concurrency: 1 });
  const deliveries = new PQueue({ concurrency: STORED_AT_ONCE });
  let told: QueueEvents | null = null;
  let events: FrameQueueEvents | null = null;
  let timer: NodeJS.Timeout | null = null;
  let sweeping: Promise<void> = Promise.resolve();
  let failuresSinceSweep = 0;
  let sweepDelayMs = sweepMs;
  /** Where the next look for lost jobs begins. */
  let looked = 0;
  let closed = false;

  async function jobOf(jobId: string): Promise<MeasureJob | null> {
    const own = pending.get(jobId);
    if (own !== undefined) return own;
    const read = MeasureJob.safeParse((await queue.getJob(jobId))?.data);
    return read.success ? read.data : null;
  }

  /** Starts and returns are told in the order in which they happened. */
  function tell(jobId: string, what: 'onStarted' | 'onReleased'): void {
    void starts.add(async () => {
      let job: MeasureJob | null = null;
      try {
        job = await jobOf(jobId);
        if (job !== null) await events?.[what](job);
      } catch (error) {
        onHandlerError(error, job);
      }
    });
  }

  function deliver(jobId: string): void {
    if (underWay.has(jobId) || events === null) return;
    const to = events;
    underWay.add(jobId);
    void deliveries.add(async () => {
      try {
        await starts.onIdle();
        const outcome = await deliverOutcome({ redis, queue, keys, line, isPending, to }, jobId);
        if (outcome === 'done') pending.delete(jobId);
      } catch (error) {
        failuresSinceSweep += 1;
        onHandlerError(error, pending.get(jobId) ?? null);
      } finally {
        underWay.delete(jobId);
      }
    });
  }

  /** Adds again what Redis does not have though the store waits for it. */
  async function addLost(ids: readonly string[]): Promise<void> {
    const look = redis.pipeline();
    for (const id of ids) look.exists(queue.toKey(id));
    const found = (await look.exec()) ?? [];
    for (const [index, id] of ids.entries()) {
      const job = pending.get(id);
      if (found[index]?.[1] !== 0 || job === undefined || underWay.has(id)) continue;
      if (await isPending(job)) await lineUp(line, id, job);
      else pending.delete(id);
    }
  }

  async function sweep(all: boolean): Promise<void> {
    for (const shootId of toDrop) await removeShoot(shootId);
    for (const id of await queue.getRanges(['completed', 'failed'], 0, PAGE - 1)) deliver(id);
    const ids = [...pending.keys()];
    if (looked >= ids.length) looked = 0;
    const until = all ? ids.length : looked + PAGE;
    for (let from = all ? 0 : looked; from < Math.min(until, ids.length); from += PAGE) {
      await addLost(ids.slice(from, from + PAGE));
    }
    if (!all) looked = until;
  }

  function sweepSoon(all: boolean): Promise<void> {
    sweeping = sweeping.then(async () => {
      try {
        failuresSinceSweep = 0;
        await sweep(all);
        await deliveries.onIdle();
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

  async function removeShoot(shootId: string): Promise<void> {
    const ids = await redis.smembers(keys.shoot(shootId));
    for (const id of ids) {
      // Marked first: a job that runs is locked, and whoever ends it finds the mark.
      await redis.set(keys.dropped(id), '1', 'PX', DROPPED_KEPT_MS);
      if ((await queue.remove(id)) === 1) await redis.del(keys.dropped(id), keys.result(id));
    }
    await redis.del(keys.shoot(shootId));
    await redis.hdel(keys.rounds, shootId);
    toDrop.delete(shootId);
  }

  async function listen(): Promise<QueueEvents> {
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
      deliver(jobId);
    });
    heard.on('failed', ({ jobId }) => {
      deliver(jobId);
    });
    await heard.waitUntilReady();
    return heard;
  }

  return {
    async start(given) {
      events = given;
      told = await listen();
      for (const { id = '' } of await queue.getActive()) tell(id, 'onStarted');
      await sweepSoon(true);
      redis.on('ready', () => void sweepSoon(true));
      sweepRegularly();
      worker?.run();
    },

    async add(job) {
      if (closed) return; // It stands in the store as received and is put back at the next start.
      const jobId = jobIdOf(job);
      pending.set(jobId, job);
      try {
        await lineUp(line, jobId, job);
      } catch (error) {
        // Redis is away or full; the sweep adds it.
        onHandlerError(error, job);
      }
    },

    async dropShoot(shootId) {
      for (const [id, job] of pending) if (job.shootId === shootId) pending.delete(id);
      toDrop.add(shootId);
      try {
        await removeShoot(shootId);
      } catch (error) {
        onHandlerError(error, null);
      }
    },

    async counts() {
      const counts = await queue.getJobCounts('wait', 'prioritized', 'delayed', 'active');
      const of = (state: string): number => counts[state] ?? 0;
      return { waiting: of('wait') + of('prioritized') + of('delayed'), running: of('active') };
    },

    async close(deadlineMs) {
      const deadline = performance.now() + deadlineMs;
      closed = true;
      if (timer !== null) clearTimeout(timer);
      await told?.close();
      const handedBack = (await worker?.close(deadlineMs)) ?? [];
      await sweeping;
      if (events !== null && performance.now() < deadline) await sweepSoon(false);
      deliveries.clear();
      await Promise.all([starts.onIdle(), deliveries.onIdle()]);
      for (const job of handedBack) await events?.onReleased(job);
      await queue.close();
      redis.disconnect();
    },
  };
}
