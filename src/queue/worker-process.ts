import type { Logger } from 'pino';
import { type Config, readConfig } from '../config.js';
import { endOnSignal } from '../end-on-signal.js';
import { StopledgerError } from '../errors.js';
import { createLog } from '../log.js';
import { MEASURING_VERSIONS } from '../version.js';
import { openFrameSource } from './open-frame-source.js';
import { openConfiguredWorker } from './open-queue.js';
import { redisAddress } from './redis/address.js';

export interface WorkerProcessOptions {
  log?: Logger;
  /** Another module to run in the measuring processes (tests). */
  poolEntry?: URL;
}

export interface RunningWorker {
  /** Takes no more frames; what runs is ended or handed back within SHUTDOWN_SECONDS. */
  close(): Promise<void>;
}

/** Starts to take frames from Redis. Throws `bad-configuration`. */
export async function startWorkerProcess(config: Config, options: WorkerProcessOptions = {}): Promise<RunningWorker> {
  const log = options.log ?? createLog(config);
  if (config.redisUrl === '') {
    throw new StopledgerError('bad-configuration', 'a worker process needs REDIS_URL: the Redis that carries frames');
  }
  if (config.workers === 0) {
    throw new StopledgerError('bad-configuration', 'WORKERS is 0: a worker process needs 1 or more');
  }
  const source = await openFrameSource(config);
  const { poolEntry } = options;
  const worker = await openConfiguredWorker(config, {
    source,
    log,
    ...(poolEntry === undefined ? {} : { poolEntry }),
  });
  worker.run();
  log.info(
    { queue: redisAddress(config.redisUrl), workers: config.workers, versions: MEASURING_VERSIONS },
    'taking frames',
  );
  return {
    async close() {
      log.info({ running: worker.running() }, 'shutting down');
      const handedBack = await worker.close(config.shutdownSeconds * 1000);
      log.info({ handedBack: handedBack.length }, 'ended');
    },
  };
}

/** Runs a worker of this environment until SIGTERM or SIGINT; a second signal ends it at once. */
export async function runWorkerProcess(
  environment: NodeJS.ProcessEnv,
  options: WorkerProcessOptions = {},
): Promise<void> {
  try {
    // A worker listens nowhere: HOST is not its business.
    const worker = await startWorkerProcess(readConfig({ ...environment, HOST: '' }), options);
    endOnSignal(() => worker.close());
  } catch (error) {
    console.error(error instanceof StopledgerError ? error.message : error);
    process.exit(1);
  }
}
