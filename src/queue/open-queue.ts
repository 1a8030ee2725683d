import { hostname } from 'node:os';
import type { Logger } from 'pino';
import type { Config } from '../config.js';
import { StopledgerError } from '../errors.js';
import type { MeasureJob } from '../contracts/jobs.js';
import { MEASURING_VERSIONS } from '../version.js';
import type { FrameWorker } from './bullmq-worker.js';
import { createEmbeddedQueue } from './embedded-queue.js';
import { type FrameSource, localFrameSource } from './frame-source.js';
import { createMeasuringPool } from './measuring-pool.js';
import type { FrameQueue } from './port.js';
import type { RedisLink } from './redis/connection.js';

export interface QueueParts {
  localPath: (shootId: string, sha256: string) => string | null;
  /** Pages of all frames whose outcome the store waits for. */
  unfinished: () => AsyncIterable<readonly MeasureJob[]>;
  /** Whether the store still waits for a frame's outcome. */
  isPending: (job: MeasureJob) => Promise<boolean>;
  /** Told when Redis or an event handler failed; what was to be done is done later. */
  onHandlerError: (error: unknown, job: MeasureJob | null) => void;
  log: Logger;
  /** Where measuring processes of this very process get frames over Redis; the local path when left out. */
  source?: FrameSource;
  /** Another module to run in the measuring processes (tests). */
  poolEntry?: URL;
}

/** The same trouble is told once in so long: a Redis that is away fails every attempt to reconnect. */
const TELL_AGAIN_MS = 30_000;

export function redisLink(config: Config, log: Logger): RedisLink {
  const toldAt = new Map<string, number>();
  return {
    url: config.redisUrl,
    prefix: config.redisPrefix,
    onTrouble(error) {
      const reason = error.message === '' && 'code' in error ? String(error.code) : error.message;
      const now = performance.now();
      if (now - (toldAt.get(reason) ?? -Infinity) < TELL_AGAIN_MS) return;
      if (toldAt.size > 100) toldAt.clear();
      toldAt.set(reason, now);
      log.warn({ reason }, 'trouble with Redis; it is tried again');
    },
  };
}

/** A worker over Redis with a pool of its own, as the configuration says. Throws `bad-configuration`. */
export async function openConfiguredWorker(
  config: Config,
  parts: { source: FrameSource; log: Logger; poolEntry?: URL },
): Promise<FrameWorker> {
  const pool = createMeasuringPool({
    workers: config.workers,
    timeLimitSeconds: config.frameTimeoutSeconds,
    // The queue counts attempts, so that the next one may be another machine's.
    maxAttempts: 1,
    ...(parts.poolEntry === undefined ? {} : { entry: parts.poolEntry }),
  });
  const { openFrameWorker } = await import('./bullmq-worker.js');
  return openFrameWorker({
    link: redisLink(config, parts.log),
    pool,
    source: parts.source,
    timeLimitSeconds: config.frameTimeoutSeconds,
    maxDeaths: config.frameMaxAttempts,
    worker: `${hostname()}/${process.pid}`,
    versions: MEASURING_VERSIONS,
  });
}

/** The queue that the configuration asks for. Throws `bad-configuration`. */
export async function openFrameQueue(config: Config, parts: QueueParts): Promise<FrameQueue> {
  const { localPath, unfinished, isPending, onHandlerError, log, poolEntry } = parts;
  if (config.redisUrl === '') {
    if (config.workers === 0) {
      const message = 'WORKERS is 0 and REDIS_URL is empty: nothing would measure; set REDIS_URL, or WORKERS from 1';
      throw new StopledgerError('bad-configuration', message);
    }
    const pool = createMeasuringPool({
      workers: config.workers,
      timeLimitSeconds: config.frameTimeoutSeconds,
      maxAttempts: config.frameMaxAttempts,
      ...(poolEntry === undefined ? {} : { entry: poolEntry }),
    });
    return createEmbeddedQueue({ pool, localPath, onHandlerError });
  }
  // Loaded only where it is asked for: the embedded service starts without it.
  const { openBullmqQueue } = await import('./bullmq-queue.js');
  const source = parts.source ?? localFrameSource(localPath);
  const workerParts = { source, log, ...(poolEntry === undefined ? {} : { poolEntry }) };
  const worker = config.workers === 0 ? null : await openConfiguredWorker(config, workerParts);
  return openBullmqQueue({
    link: redisLink(config, log),
    maxAttempts: config.frameMaxAttempts,
    unfinished,
    isPending,
    onHandlerError,
    ...(worker === null ? {} : { worker }),
  }).catch(async (error: unknown) => {
    await worker?.close(0);
    throw error;
  });
}
