import type { ProgressStream } from './progress.js';
import { StopledgerError } from '../errors.js';

/** What a command talks to: streams, environment and the signal that stops it. Tests give their own. */
export interface CommandContext {
  stdout: ProgressStream;
  stderr: ProgressStream;
  env: NodeJS.ProcessEnv;
  /** Aborted by SIGINT or SIGTERM. */
  signal: AbortSignal;
}

/** 0: all consistent. 2: something is flagged. 1: the job could not be done. */
export type ExitStatus = 0 | 1 | 2;

/** The process's own streams; the first SIGINT or SIGTERM stops cleanly, a second one at once. */
export function processContext(): CommandContext {
  const stop = new AbortController();
  for (const name of ['SIGINT', 'SIGTERM'] as const) {
    process.once(name, () => {
      stop.abort(new StopledgerError('shutting-down', `stopped by ${name}`));
    });
  }
  return { stdout: process.stdout, stderr: process.stderr, env: process.env, signal: stop.signal };
}
