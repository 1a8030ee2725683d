import type { ProgressStream } from './progress.js';
import { StopledgerError } from '../errors.js';

/** What a command talks to: streams, environment and the signal that stops it. Tests give their own. */
export interface CommandContext {
  stdout: ProgressStream;
  stderr: ProgressStream;
  /** Where lists of files come from. */
  stdin?: AsyncIterable<Uint8Array | string>;
  env: NodeJS.ProcessEnv;
  /** Aborted by SIGINT or SIGTERM. */
  signal: AbortSignal;
  /** Aborted when nobody reads standard output any more, as behind `| head`. */
  unread?: AbortSignal;
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
  const unread = new AbortController();
  // A reader that has seen enough is no failure: what is to be written to files is still written.
  const ignoreClosed = (error: NodeJS.ErrnoException): void => {
    if (error.code !== 'EPIPE') throw error;
    unread.abort(new StopledgerError('shutting-down', 'nobody reads the output any more'));
  };
  process.stdout.on('error', ignoreClosed);
  process.stderr.on('error', ignoreClosed);
  return {
    stdout: process.stdout,
    stderr: process.stderr,
    stdin: process.stdin,
    env: process.env,
    signal: stop.signal,
    unread: unread.signal,
  };
}
