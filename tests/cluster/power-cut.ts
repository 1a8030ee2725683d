import { existsSync, readdirSync, statSync, truncateSync } from 'node:fs';
import { join } from 'node:path';
import type { RedisServer } from '../support/redis-server.js';

/** What an append-only file that is synced every second may lose with the power (Redis documentation, persistence). */
const LOST_MS = 1000;
const LOOK_EVERY_MS = 50;

/** The part of the append-only file that is being written; null before there is one. */
function growingPart(folder: string): { path: string; bytes: number } | null {
  const parts = join(folder, 'appendonlydir');
  const names = existsSync(parts) ? readdirSync(parts).filter((name) => name.endsWith('.incr.aof')) : [];
  const numberOf = (name: string): number => Number(/\.(\d+)\.incr/.exec(name)?.[1]);
  const last = names.sort((a, b) => numberOf(a) - numberOf(b)).at(-1);
  return last === undefined ? null : { path: join(parts, last), bytes: statSync(join(parts, last)).size };
}

/**
 * Ends Redis as a power cut would. A killed process alone loses nothing that it handed to the kernel; so its last
 * second of writing is cut off the file behind it.
 */
export class PowerCut {
  readonly #redis: RedisServer;
  readonly #timer: NodeJS.Timeout;
  #seen: { path: string; bytes: number; at: number }[] = [];

  constructor(redis: RedisServer) {
    this.#redis = redis;
    this.#timer = setInterval(() => {
      this.#look();
    }, LOOK_EVERY_MS);
  }

  #look(): void {
    const part = growingPart(this.#redis.folder);
    const now = performance.now();
    if (part !== null) this.#seen.push({ ...part, at: now });
    // The last one that is older than what may be lost is kept.
    while ((this.#seen[1]?.at ?? Infinity) < now - LOST_MS) this.#seen.shift();
  }

  /** Returns how many bytes went. */
  async strike(): Promise<number> {
    this.#look();
    await this.#redis.stop('SIGKILL');
    const part = growingPart(this.#redis.folder);
    const before = this.#seen.find(({ path }) => path === part?.path);
    if (part === null || before === undefined) return 0;
    truncateSync(part.path, before.bytes);
    this.#seen = [];
    return part.bytes - before.bytes;
  }

  end(): void {
    clearInterval(this.#timer);
  }
}
