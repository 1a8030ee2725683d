import { Queue, Worker } from 'bullmq';
import { z } from 'zod';
import { type RedisLink, connectRedis } from '../queue/redis/connection.js';
import type { DeliveryAttempt } from '../store/port.js';
import { AT_ONCE, type DeliverySchedule, attemptId } from './schedule.js';

const QUEUE_NAME = 'webhooks';
const Attempt = z.object({ id: z.string(), at: z.string() });
/** A queue that is away must not hold up the end of the process. */
const CLOSE_LIMIT_MS = 2000;

/**
 * Over Redis, shared by all API processes: an attempt is a delayed job of its own, made by whichever of them is free.
 * A job holds the id of a delivery and nothing of it. Errors of Redis are told; the sweep sets again what was not set.
 */
export async function openBullmqSchedule(link: RedisLink, now: () => number = Date.now): Promise<DeliverySchedule> {
  const redis = await connectRedis(link, 'failing-fast');
  const queue = new Queue(QUEUE_NAME, { connection: redis, prefix: link.prefix });
  queue.on('error', link.onTrouble);
  const patient = await connectRedis(link, 'patient');
  let worker: Worker | null = null;
  let closed = false;
  return {
    start(make) {
      const process = (job: { data: unknown }): Promise<void> => make(Attempt.parse(job.data));
      worker = new Worker(QUEUE_NAME, process, { connection: patient, prefix: link.prefix, concurrency: AT_ONCE });
      worker.on('error', link.onTrouble);
      return Promise.resolve();
    },
    async set(attempt: DeliveryAttempt) {
      if (closed) return;
      const delay = Math.max(0, Date.parse(attempt.at) - now());
      const options = { jobId: attemptId(attempt), delay, removeOnComplete: true, removeOnFail: true };
      try {
        const job = await queue.add('deliver', Attempt.parse(attempt), options);
        // Set before, by a process whose clock was behind: due is due.
        if (delay === 0 && (await job.isDelayed())) await job.promote();
      } catch (error) {
        link.onTrouble(error instanceof Error ? error : new Error(String(error)));
      }
    },
    async drop(attempts) {
      for (const attempt of attempts) await queue.remove(attemptId(attempt)).catch(link.onTrouble);
    },
    async close() {
      closed = true;
      const ended = Promise.all([worker?.close(), queue.close()]).catch(link.onTrouble);
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
