import { Redis } from 'ioredis';
import { StopledgerError } from '../../errors.js';
import { redisAddress } from './address.js';

/** How long a start waits for Redis to answer. */
const START_WAIT_MS = 20_000;
/** Waits between attempts to connect again: doubled from the first to the last. */
const RECONNECT_MS = [50, 2000] as const;
const COMMAND_LIMIT_MS = 10_000;
/** A connection that owes an answer for so long is opened anew; commands that block on purpose end within 10 s. */
const SILENCE_LIMIT_MS = 30_000;
const REFUSED = /^(NOAUTH|WRONGPASS|NOPERM|ERR (AUTH|invalid password|invalid username))/;

const AWAY = /isn't writeable|connection is closed|command timed out|ECONN/i;

/** True for what the client throws, once for each command, as long as a connection is lost. */
export const isRedisAway = (error: unknown): error is Error => error instanceof Error && AWAY.test(error.message);

export interface RedisLink {
  /** `redis://` or, over TLS, `rediss://`, with user and password where Redis wants them. */
  url: string;
  /** Beginning of every key. */
  prefix: string;
  /** Told of every failure of a connection; each is mended by itself. */
  onTrouble: (error: Error) => void;
  startWaitMs?: number;
}

const told = (error: unknown): string => {
  if (!(error instanceof Error)) return String(error);
  return error.message === '' && 'code' in error ? String(error.code) : error.message;
};

/**
 * Connects and waits until Redis answers. `patient`: commands wait for a lost connection (workers, whose result must
 * not be lost); otherwise they fail at once while it is away, so that no request hangs on it.
 * Throws `bad-configuration` when Redis refuses the password or cannot be reached in time.
 */
export async function connectRedis(link: RedisLink, kind: 'patient' | 'failing-fast'): Promise<Redis> {
  const redis = new Redis(link.url, {
    maxRetriesPerRequest: null,
    socketTimeout: SILENCE_LIMIT_MS,
    retryStrategy: (times: number) => Math.min(RECONNECT_MS[0] * 2 ** Math.min(times, 10), RECONNECT_MS[1]),
    ...(kind === 'patient' ? {} : { enableOfflineQueue: false, commandTimeout: COMMAND_LIMIT_MS }),
  });
  redis.on('error', link.onTrouble);
  const address = redisAddress(link.url);
  try {
    await new Promise<void>((resolve, reject) => {
      let last = 'no answer';
      const timer = setTimeout(() => {
        reject(new StopledgerError('bad-configuration', `REDIS_URL: ${address} cannot be reached: ${last}`));
      }, link.startWaitMs ?? START_WAIT_MS);
      redis.on('error', (error) => {
        last = told(error);
        if (!REFUSED.test(last)) return;
        clearTimeout(timer);
        reject(new StopledgerError('bad-configuration', `REDIS_URL: ${address} refuses user or password: ${last}`));
      });
      redis.once('ready', () => {
        clearTimeout(timer);
        resolve();
      });
    });
    return redis;
  } catch (error) {
    redis.disconnect();
    throw error;
  }
}

/**
 * Refuses a Redis that drops keys when its memory is full: it would lose frames without a word.
 * Throws `bad-configuration`.
 */
export async function refuseEviction(redis: Redis, url: string): Promise<void> {
  // INFO, since CONFIG is forbidden on many hosted servers.
  const policy = /^maxmemory_policy:(\S+)/m.exec(await redis.info('memory'))?.[1] ?? 'not told';
  if (policy === 'noeviction') return;
  throw new StopledgerError(
    'bad-configuration',
    `REDIS_URL: ${redisAddress(url)} has maxmemory-policy ${policy}; noeviction is needed, since any other would drop ` +
      'frames that wait when memory is full (redis.conf: maxmemory-policy noeviction)',
  );
}
