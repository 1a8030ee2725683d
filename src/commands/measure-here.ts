import { availableParallelism } from 'node:os';
import { readConfig } from '../config.js';
import { createMeasuringPool, type MeasuringPool } from '../queue/measuring-pool.js';

/** Of the service's variables only those that concern measuring count here: HOST may be the shell's own. */
const MEASURING_VARIABLES = ['WORKERS', 'FRAME_TIMEOUT_SECONDS', 'FRAME_MAX_ATTEMPTS'] as const;

/** Measuring processes of the command line's own, as the environment says, at most so many. */
export function poolFromEnvironment(env: NodeJS.ProcessEnv, most = Infinity): MeasuringPool {
  const config = readConfig(Object.fromEntries(MEASURING_VARIABLES.map((name) => [name, env[name]])));
  return createMeasuringPool({
    workers: Math.min(most, config.workers === 0 ? availableParallelism() : config.workers),
    timeLimitSeconds: config.frameTimeoutSeconds,
    maxAttempts: config.frameMaxAttempts,
  });
}
