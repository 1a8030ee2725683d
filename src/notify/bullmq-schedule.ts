import { Queue, Worker } from 'bullmq';
import { z } from 'zod';
import { type RedisLink, connectRedis } from '../queue/redis/connection.js';
import type { DeliveryAttempt } from '../store/port.js';
import { type DeliverySchedule, attemptId } from './schedule.js';
import { Turns } from './turns.js';

const QUEUE_NAME = 'webhooks';
/** `lane` is missing in jobs of versions that had none. */
const Job = z.object({ id: z.string(), at: z.string(), lane: z.string().default('') });
/** A job is over as soon as its attempt waits for its turn here. */
const JOBS_AT_ONCE = 8;
/** A queue that is away must not hold up the end of the process. */
const CLOSE_LIMIT_MS = 2000;

/**
 * Over Redis, shared by all API processes: an attempt is a delayed job of its own, taken by whichever of them is free,
 * where it waits for its turn. A job holds the id of a delivery and nothing of it. Errors of Redis are told; the sweep
 * sets again what was not set, and what a process took and died with: an attempt is made by whoever claims it first.
 */
export async function openBullmqSchedule(link: RedisLink, now: () => number = Date.now): Promise<DeliverySchedule> {
  const redis = await connectRedis(link, 'failing-fast');
  const queue = new Queue(QUEUE_NAME, { connection: redis, prefix: link.prefix });
  queue.on('error', link.onTrouble);
  const patient = await connectRedis(link, 'patient').catch((error: unknown) => {
    redis.disconnect();
    throw error;
  });
  /** Taken, and waiting for their turn. */
  const taken = new Set<string>();
  const turns = new Turns();
  let worker: Worker | null = null;
  let closed = false;
  return {
    start(make) {
      const take = (job: { data: unknown }): Promise<void> => {
        const { lane, ...attempt } = Job.parse(job.data);
        const key = attemptId(attempt);
        if (closed || taken.has(key)) return Promise.resolve();
        taken.add(key);
        turns.add(lane, async () => {
          if (taken.delete(key)) await make(attempt); // Else it was dropped meanwhile.
        });
        return Promise.resolve();
      };
      worker = new Worker(QUEUE_NAME, take, { connection: patient, prefix: link.prefix, concurrency: JOBS_AT_ONCE });
      worker.on('error', link.onTrouble);
      return Promise.resolve();
    },
    async set(attempt: DeliveryAttempt, lane) {
      if (closed) return;
      const delay = Math.max(0, Date.parse(attempt.at) - now());
      const options = { jobId: attemptId(attempt), delay, removeOnComplete: true, removeOnFail: true };
      try {
        const job = await queue.add('deliver', Job.parse({ ...attempt, lane }), options);
        // Set before, by a process whose clock was behind: due is due.
        if (delay === 0 && (await job.isDelayed())) await job.promote();
      } catch (error) {
        link.onTrouble(error instanceof Error ? error : new Error(String(error)));
      }
    },
    async drop(attempts) {
      for (const key of attempts.map(attemptId)) {
        taken.delete(key);
        await queue.remove(key).catch(link.onTrouble);
      }
    },
    async close() {
      closed = true;
      taken.clear();
      const ended = Promise.all([worker?.close(), queue.close(), turns.idle()]).catch(link.onTrouble);
      let timer: NodeJS.Timeout | undefined;
      const late = new Promise<void>((resolve) => {
        timer = setTimeout(resolve, CLOSE_LIMIT_MS);
      });
      await Promise.race([ended, late]);
      clearTimeout(timer);
      redis.disconnect();
      patient.disconnect();
    },
  };
}
