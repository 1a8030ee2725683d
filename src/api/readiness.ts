import { statfs } from 'node:fs/promises';
import type { ReadyState } from '../contracts/api.js';
import { StopledgerError } from '../errors.js';
import type { AppDeps } from './deps.js';
import { describe } from './record-outcomes.js';
import { within } from './within.js';

/** A part that does not answer in this time is missing. */
const LIMIT_MS = 3000;
/** However often it is asked, the parts are looked at once in so long: looking writes to the disk or the bucket. */
const KEPT_MS = 500;

type Check = () => Promise<unknown>;

async function checkDiskSpace(folder: string, leastBytes: number): Promise<void> {
  const { bavail, bsize } = await statfs(folder);
  const freeBytes = bavail * bsize;
  if (freeBytes >= leastBytes) return;
  throw new StopledgerError('storage-full', `${freeBytes} bytes are free; MIN_FREE_BYTES is ${leastBytes}`);
}

/** What this service needs, by name, as it is configured. */
function checksOf({ config, store, files, queue }: AppDeps): Record<string, Check> {
  // With both elsewhere, nothing is kept on a disk of this machine.
  const keepsOnDisk = config.databaseUrl === '' || config.frameFiles === 'folder';
  return {
    database: () => store.getShoot(''),
    [config.redisUrl === '' ? 'queue' : 'redis']: () => queue.counts(),
    'frame-files': () => files.check(),
    ...(keepsOnDisk ? { 'disk-space': () => checkDiskSpace(config.dataDir, config.minFreeBytes) } : {}),
  };
}

/**
 * Whether frames can be taken and measured, and which part is missing. Everyone may ask, so the answer names parts and
 * nothing of them; why one is missing stands in the log, once.
 */
export class Readiness {
  readonly #deps: AppDeps;
  readonly #checks: Record<string, Check>;
  readonly #missing = new Set<string>();
  #looked: { atMs: number; parts: Promise<Record<string, string>> } | null = null;

  constructor(deps: AppDeps) {
    this.#deps = deps;
    this.#checks = checksOf(deps);
  }

  async state(): Promise<ReadyState> {
    const now = performance.now();
    if (this.#looked === null || now - this.#looked.atMs > KEPT_MS) {
      this.#looked = { atMs: now, parts: this.#look() };
    }
    const parts = {
      ...(await this.#looked.parts),
      service: this.#deps.shuttingDown.aborted ? 'shutting down' : 'ok',
    };
    const missing = Object.entries(parts).filter(([, state]) => state !== 'ok').map(([part]) => part); // prettier-ignore
    return { ready: missing.length === 0, missing, parts };
  }

  async #look(): Promise<Record<string, string>> {
    const told = Object.entries(this.#checks).map(async ([part, check]) => [part, await this.#stateOf(part, check)]);
    return Object.fromEntries(await Promise.all(told)) as Record<string, string>;
  }

  async #stateOf(part: string, check: Check): Promise<string> {
    const { log } = this.#deps;
    try {
      await within(LIMIT_MS, part, check());
      if (this.#missing.delete(part)) log.info({ part }, 'part is there again');
      return 'ok';
    } catch (error) {
      if (!this.#missing.has(part)) log.error({ part, ...describe(error) }, 'part is missing');
      this.#missing.add(part);
      return 'missing';
    }
  }
}
