import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import { readFileSync } from 'node:fs';
import { request } from 'node:http';
import { createInterface } from 'node:readline';
import { fileURLToPath } from 'node:url';

const path = (relative: string): string => fileURLToPath(new URL(relative, import.meta.url));
const MIB = 1024 ** 2;
const PAGE_BYTES = 4096;
/** Of the times in /proc, on every Linux that Node runs on. */
const TICKS_A_SECOND = 100;

export interface Peer {
  url: string;
  /** User and system, since its start; in steps of 10 ms (Linux). */
  cpuMs(): number;
  /** Resident (Linux). */
  memoryMiB(): number;
  end(): Promise<void>;
}

function peer(child: ChildProcess, url: string): Peer {
  const stat = (name: string): string => readFileSync(`/proc/${child.pid}/${name}`, 'utf8');
  return {
    url,
    cpuMs() {
      const fields = stat('stat')
        .replace(/^.*\) /, '')
        .split(' ');
      return (1000 * (Number(fields[11]) + Number(fields[12]))) / TICKS_A_SECOND;
    },
    memoryMiB: () => (Number(stat('statm').split(' ')[1]) * PAGE_BYTES) / MIB,
    async end() {
      child.kill('SIGTERM');
      if (child.exitCode === null && child.signalCode === null) await once(child, 'exit');
    },
  };
}

async function firstFrom<T>(child: ChildProcess, read: (line: string) => T | undefined): Promise<T> {
  const lines = child.stdout;
  if (lines === null) throw new Error('its output is read');
  for await (const line of createInterface({ input: lines })) {
    const found = read(line);
    if (found === undefined) continue;
    lines.resume();
    return found;
  }
  throw new Error('the process ended before it said its address');
}

/** The service over a folder, with one measuring process that measures nothing. */
export async function startBlankService(folder: string): Promise<Peer> {
  const child = spawn(process.execPath, ['--import', 'tsx', path('./blank-service.ts')], {
    env: { PATH: process.env.PATH, PORT: '0', DATA_DIR: folder, WORKERS: '1', LOG_LEVEL: 'info', CALIBRATIONS: `${folder}/none`, MAX_REQUESTS_PER_MINUTE: '0' }, // prettier-ignore
    stdio: ['ignore', 'pipe', 'inherit'],
  });
  return peer(child, await firstFrom(child, (line) => (JSON.parse(line) as { url?: string }).url));
}

/** A bare server of Node that throws away what it is sent. */
export async function startTaker(): Promise<Peer> {
  const child = spawn(process.execPath, ['--import', 'tsx', path('./take-bytes.ts')], {
    stdio: ['ignore', 'pipe', 'inherit'],
  });
  return peer(child, `http://127.0.0.1:${await firstFrom(child, Number)}`);
}

/**
 * PUT of bytes that lie ready, over a connection of its own, which costs little beside them; `fetch` costs several times
 * the CPU.
 */
export function putBytes(url: string, bytes: Uint8Array): Promise<number> {
  return new Promise((resolve, reject) => {
    const sent = request(
      url,
      { method: 'PUT', agent: false, headers: { 'content-length': bytes.byteLength } },
      (answer) => {
        answer.resume();
        answer.on('end', () => {
          resolve(answer.statusCode ?? 0);
        });
      },
    );
    sent.on('error', reject);
    sent.end(bytes);
  });
}

/** Creates a shoot and says its address. */
export async function createShoot(url: string): Promise<string> {
  const answer = await fetch(`${url}/v1/shoots`, {
    method: 'POST',
    headers: { 'content-type': 'application/json' },
    body: JSON.stringify({ name: 'bench' }),
  });
  if (answer.status !== 201) throw new Error(`shoot not created: ${answer.status}`);
  return `${url}${answer.headers.get('location') ?? ''}`;
}
