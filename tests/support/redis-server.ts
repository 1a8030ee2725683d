import { type ChildProcess, spawn, spawnSync } from 'node:child_process';
import { once } from 'node:events';
import { mkdtempSync } from 'node:fs';
import { rm } from 'node:fs/promises';
import { createServer } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import { afterAll, beforeAll } from 'vitest';

/** Debian: `apt-get install redis-server`. */
export const REDIS_INSTALLED = spawnSync('redis-server', ['--version']).status === 0;
/** Stands in the names of tests, so that a run says why it left some out. */
export const REDIS_NOTE = REDIS_INSTALLED ? '' : ' (skipped: redis-server is not installed)';

export async function freePort(): Promise<number> {
  const server = createServer();
  server.listen(0, '127.0.0.1');
  await once(server, 'listening');
  const address = server.address();
  server.close();
  await once(server, 'close');
  if (address === null || typeof address === 'string') throw new Error('no port was given');
  return address.port;
}

export interface RedisServer {
  port: number;
  url: string;
  /** Where its append-only file lies. */
  folder: string;
  pid(): number | null;
  /** Ends it, at once as a power cut would (SIGKILL) or in order (SIGTERM). */
  stop(signal?: NodeJS.Signals): Promise<void>;
  /** Starts it again on the same port, over the same folder. */
  restart(): Promise<void>;
  /** Stops it and removes its folder. */
  remove(): Promise<void>;
}

async function startOn(port: number, folder: string, args: readonly string[]): Promise<ChildProcess> {
  const child = spawn(
    'redis-server',
    ['--port', String(port), '--bind', '127.0.0.1', '--dir', folder, '--save', '', '--daemonize', 'no', ...args],
    { stdio: ['ignore', 'pipe', 'inherit'] },
  );
  for await (const line of createInterface({ input: child.stdout })) {
    if (!line.includes('Ready to accept connections')) continue;
    child.stdout.resume();
    return child;
  }
  throw new Error('redis-server ended before it was ready');
}

/** A real Redis on a free port of this machine, over a folder of its own. */
export async function startRedis(args: readonly string[] = []): Promise<RedisServer> {
  const port = await freePort();
  const folder = mkdtempSync(join(tmpdir(), 'stopledger-redis-'));
  let child: ChildProcess | null = await startOn(port, folder, args);
  const stop = async (signal: NodeJS.Signals = 'SIGKILL'): Promise<void> => {
    if (child === null) return;
    const ended = once(child, 'exit');
    child.kill(signal);
    child = null;
    await ended;
  };
  return {
    port,
    url: `redis://127.0.0.1:${port}`,
    folder,
    pid: () => child?.pid ?? null,
    stop,
    async restart() {
      child ??= await startOn(port, folder, args);
    },
    async remove() {
      await stop();
      await rm(folder, { recursive: true, force: true, maxRetries: 3 });
    },
  };
}

let prefixes = 0;
/** Keys of its own for one test. */
export const newPrefix = (): string => `test-${process.pid}-${(prefixes += 1)}`;

/** One Redis for all tests of a file: returns how to get at it. */
export function redisForFile(args: readonly string[] = []): () => RedisServer {
  let server: RedisServer | null = null;
  beforeAll(async () => {
    if (REDIS_INSTALLED) server = await startRedis(args);
  });
  afterAll(async () => {
    await server?.remove();
  });
  return () => {
    if (server === null) throw new Error('Redis is started before the first test');
    return server;
  };
}
