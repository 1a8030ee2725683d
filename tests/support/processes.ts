import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import { createInterface } from 'node:readline';
import { fileURLToPath } from 'node:url';
import { onTestFinished } from 'vitest';

const path = (relative: string): string => fileURLToPath(new URL(relative, import.meta.url));
/** Entries of processes under test: with fixture processes that do what a frame's text says, or real ones. */
export const SERVICE_ENTRY = path('../fixtures/pool/service-process.ts');
export const WORKER_ENTRY = path('../fixtures/pool/worker-process.ts');
export const REAL_WORKER_ENTRY = path('../../worker/main.ts');

export interface StartedProcess {
  child: ChildProcess;
  /** The line that said it is ready. */
  ready: Record<string, unknown>;
  /** Sends a signal and says with which status the process ended. */
  kill(signal: NodeJS.Signals): Promise<number | null>;
}

/** Starts a process of ours from source and waits for a line of its log; gone after the test at the latest. */
export async function startLogged(
  entry: string,
  message: string,
  environment: Record<string, string>,
): Promise<StartedProcess> {
  const child = spawn(process.execPath, ['--import', 'tsx', entry], {
    env: { PATH: process.env.PATH, ...environment },
    stdio: ['ignore', 'pipe', 'inherit'],
  });
  onTestFinished(() => {
    if (child.exitCode === null) child.kill('SIGKILL');
  });
  for await (const line of createInterface({ input: child.stdout })) {
    const ready = JSON.parse(line) as Record<string, unknown>;
    if (ready.msg !== message) continue;
    child.stdout.resume();
    return {
      child,
      ready,
      async kill(signal) {
        const exited = once(child, 'exit') as Promise<[number | null]>;
        child.kill(signal);
        return (await exited)[0];
      },
    };
  }
  throw new Error(`${entry} ended before it said "${message}"`);
}
