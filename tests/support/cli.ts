import { spawn } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import type { CommandContext } from '../../src/commands/terminal.js';

export const REPOSITORY = fileURLToPath(new URL('../..', import.meta.url));

export interface Ran {
  status: number | null;
  signal: NodeJS.Signals | null;
  stdout: string;
  stderr: string;
}

export interface RunningCli {
  ended: Promise<Ran>;
  /** Sends a signal to the command line's own process. */
  kill(signal: NodeJS.Signals): void;
  /** Resolves when standard error or output has shown this text. */
  shown(text: string): Promise<void>;
  /** Resolves with what `look` finds in what was written so far, as soon as it finds something. */
  until<T>(look: (stdout: string) => T | undefined): Promise<T>;
}

const FROM_SOURCE = ['--import', 'tsx', 'src/cli.ts'];

/** The command line as a process of its own, from source, with few variables of this environment. */
export function startCli(
  args: readonly string[],
  env: Record<string, string> = {},
  entry: readonly string[] = FROM_SOURCE,
): RunningCli {
  const child = spawn(process.execPath, [...entry, ...args], {
    cwd: REPOSITORY,
    env: { PATH: process.env['PATH'], HOME: process.env['HOME'], WORKERS: '1', ...env },
    stdio: ['ignore', 'pipe', 'pipe'],
  });
  let stdout = '';
  let stderr = '';
  const watchers = new Set<() => void>();
  child.stdout.setEncoding('utf8').on('data', (text: string) => {
    stdout += text;
    for (const look of watchers) look();
  });
  child.stderr.setEncoding('utf8').on('data', (text: string) => {
    stderr += text;
    for (const look of watchers) look();
  });
  const ended = new Promise<Ran>((resolve) => {
    child.on('close', (status, signal) => {
      resolve({ status, signal, stdout, stderr });
    });
  });
  const until = <T>(look: () => T | undefined, what: string): Promise<T> =>
    new Promise((resolve, reject) => {
      const lookAgain = (): void => {
        const found = look();
        if (found !== undefined) resolve(found);
      };
      watchers.add(lookAgain);
      lookAgain();
      void ended.then((ran) => {
        reject(new Error(`ended before it showed ${what}: ${ran.stdout}${ran.stderr}`));
      });
    });
  return {
    ended,
    kill: (signal) => void child.kill(signal),
    shown: async (text) => {
      await until(() => (stdout.includes(text) || stderr.includes(text) ? true : undefined), `"${text}"`);
    },
    until: (look) => until(() => look(stdout), 'what the test waits for'),
  };
}

export const runCli = (...of: Parameters<typeof startCli>): Promise<Ran> => startCli(...of).ended;

/** A context that records what a command writes, for running it inside the test. */
export function recordingContext(
  env: NodeJS.ProcessEnv = {},
): CommandContext & { out: () => string; err: () => string } {
  let out = '';
  let err = '';
  return {
    stdout: { write: (text) => (out += text) },
    stderr: { write: (text) => (err += text) },
    env,
    signal: new AbortController().signal,
    out: () => out,
    err: () => err,
  };
}
