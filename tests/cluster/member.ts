import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import { type WriteStream, createWriteStream } from 'node:fs';
import { createInterface } from 'node:readline';
import { PROJECT_FOLDER, type Command } from './compose-commands.js';

/** One line of a process's log. */
export type LogLine = Record<string, unknown>;

/** A process of the cluster that can be killed and started again. */
export interface Member {
  name: string;
  /** The command as it was run. */
  shown: string;
  pid(): number | null;
  start(): Promise<LogLine>;
  /** Says with which status it ended; null for a signal, and when it does not run. */
  kill(signal: NodeJS.Signals): Promise<number | null>;
}

export interface MemberOptions {
  name: string;
  command: Command;
  /** `dist`: what was built, as the image runs it; `source`: the same files from TypeScript, without building first. */
  from: 'dist' | 'source';
  /** Message of the log line that says that it is ready. */
  readyMessage: string;
  logFile: string;
  onLine?: (line: LogLine) => void;
}

/** `dist/src/main.js` as it stands in the source. */
const fromSource = (args: readonly string[]): string[] =>
  args.flatMap((word) => (/^dist\/.*\.js$/.test(word) ? ['--import', 'tsx', word.slice(5, -3) + '.ts'] : [word]));

function asObject(line: string): LogLine | null {
  try {
    return JSON.parse(line) as LogLine;
  } catch {
    return null;
  }
}

/** A process of ours; nothing runs before `start`. */
export function member(options: MemberOptions): Member {
  const { name, command, from, readyMessage, logFile, onLine } = options;
  const args = from === 'dist' ? command.args : fromSource(command.args);
  const program = command.program === 'node' ? process.execPath : command.program;
  let child: ChildProcess | null = null;
  let log: WriteStream | null = null;

  return {
    name,
    shown: [command.program, ...args].join(' '),
    pid: () => child?.pid ?? null,

    async start() {
      if (child !== null) throw new Error(`${name} runs already`);
      const started = spawn(program, args, {
        cwd: PROJECT_FOLDER,
        env: { PATH: process.env.PATH, ...command.environment },
        stdio: ['ignore', 'pipe', 'pipe'],
      });
      child = started;
      const file = (log ??= createWriteStream(logFile, { flags: 'a' }));
      started.stderr.on('data', (bytes: Buffer) => file.write(bytes));
      const lines = createInterface({ input: started.stdout });
      return new Promise<LogLine>((resolve, reject) => {
        lines.on('line', (text) => {
          file.write(`${text}\n`);
          const line = asObject(text);
          if (line === null) return;
          onLine?.(line);
          if (line.msg === readyMessage) resolve(line);
        });
        started.once('error', reject);
        started.once('exit', (code, signal) => {
          if (child === started) child = null;
          reject(new Error(`${name} ended (${code ?? signal}) before it was ready; see ${logFile}`));
        });
      });
    },

    async kill(signal) {
      const running = child;
      if (running === null || running.exitCode !== null || running.signalCode !== null) return null;
      const ended = once(running, 'exit') as Promise<[number | null]>;
      running.kill(signal);
      const [status] = await ended;
      if (child === running) child = null;
      return status;
    },
  };
}
