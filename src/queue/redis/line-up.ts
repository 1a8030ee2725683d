import type { Queue } from 'bullmq';
import type { Redis } from 'ioredis';
import type { MeasureJob } from '../../contracts/jobs.js';
import type { OwnKeys } from './keys.js';

/** BullMQ's largest priority. */
const LAST_ROUND = 2 ** 21 - 1;

/**
 * Gives a job its round, or 0 when it is in the queue already. Rounds are how shoots are served in turn: each round
 * holds one frame of every shoot, and the round is the job's priority. A shoot that comes new joins the round that
 * is served now, so three frames behind three thousand wait for three others. When nothing waits, counting begins
 * anew. BullMQ's score of a waiting job is priority × 2^32 + a counter.
 */
const LINE_UP = `
  if redis.call('EXISTS', KEYS[1]) == 1 then return 0 end
  local head = redis.call('ZRANGE', KEYS[2], 0, 0, 'WITHSCORES')
  local now = 1
  if head[2] then now = math.floor(tonumber(head[2]) / 4294967296) else redis.call('DEL', KEYS[3]) end
  local last = tonumber(redis.call('HGET', KEYS[3], ARGV[1]) or '0')
  local round = math.min(math.max(now, last + 1), tonumber(ARGV[2]))
  redis.call('HSET', KEYS[3], ARGV[1], round)
  return round`;

/**
 * Notes a job under its shoot, for when that is dropped. After the job was added and only while it is there: whatever
 * breaks in between, and however late this comes, nothing is noted that no job would take away again.
 */
const NOTE = `if redis.call('EXISTS', KEYS[1]) == 1 then redis.call('SADD', KEYS[2], ARGV[1]) end`;

export interface LineUpParts {
  redis: Redis;
  queue: Queue;
  keys: OwnKeys;
  maxAttempts: number;
  /** Wait before the second attempt, doubled for each further one; 0 tries again at once. */
  backoffMs: number;
}

/** Puts a job into the queue behind those of its shoot; a job that is there already is left as it is. */
export async function lineUp(parts: LineUpParts, jobId: string, job: MeasureJob): Promise<void> {
  const { redis, queue, keys, maxAttempts, backoffMs } = parts;
  const { shootId } = job;
  const touched = [queue.toKey(jobId), queue.toKey('prioritized'), keys.rounds];
  const round = Number(await redis.eval(LINE_UP, touched.length, ...touched, shootId, LAST_ROUND));
  if (round === 0) return;
  await queue.add('frame', job, {
    jobId,
    priority: round,
    attempts: maxAttempts,
    backoff: backoffMs === 0 ? 0 : { type: 'exponential', delay: backoffMs },
    // Kept until their outcome is stored: removed at once, an outcome that no one heard of would be lost.
    removeOnComplete: false,
    removeOnFail: false,
    stackTraceLimit: 1,
  });
  await redis.eval(NOTE, 2, queue.toKey(jobId), keys.shoot(shootId), jobId);
}
