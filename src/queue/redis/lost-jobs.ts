import type { Queue } from 'bullmq';
import type { Redis } from 'ioredis';
import type { MeasureJob } from '../../contracts/jobs.js';
import { jobIdOf } from './keys.js';
import { lineUp, type LineUpParts } from './line-up.js';

export interface LostJobsParts {
  redis: Redis;
  queue: Queue;
  line: LineUpParts;
  /** Pages of everything whose outcome the store waits for, whichever process received it. */
  unfinished: () => AsyncIterable<readonly MeasureJob[]>;
  isPending: (job: MeasureJob) => Promise<boolean>;
  /** Jobs whose outcome is being delivered. */
  isUnderWay: (jobId: string) => boolean;
}

/**
 * Finds frames that the store waits for and Redis does not have, because it was away when they came or lost its last
 * second, and adds them. Asking the store, and not this process's memory, finds those of a process that is gone, too.
 */
export class LostJobs {
  readonly #parts: LostJobsParts;
  /** Where the next look goes on. */
  #pages: AsyncIterator<readonly MeasureJob[]> | null = null;

  constructor(parts: LostJobsParts) {
    this.#parts = parts;
  }

  /** Looks at the next page, or, with `all`, at every one from the first. */
  async look(all: boolean): Promise<void> {
    if (all) this.#pages = null;
    do {
      this.#pages ??= this.#parts.unfinished()[Symbol.asyncIterator]();
      const pages = this.#pages;
      // A page that cannot be had begins the next look anew.
      this.#pages = null;
      const page = await pages.next();
      if (page.done === true) return;
      await this.#addMissing(page.value);
      this.#pages = pages;
    } while (all);
  }

  async #addMissing(jobs: readonly MeasureJob[]): Promise<void> {
    const { redis, queue, line, isPending, isUnderWay } = this.#parts;
    const ids = jobs.map(jobIdOf);
    const look = redis.pipeline();
    for (const id of ids) look.exists(queue.toKey(id));
    const found = (await look.exec()) ?? [];
    for (const [index, job] of jobs.entries()) {
      const [error, there] = found[index] ?? [];
      if (error) throw error;
      const id = ids[index] ?? '';
      if (there !== 0 || isUnderWay(id)) continue;
      // Asked after Redis: an outcome is stored before its job is forgotten, so a job that was done is not added again.
      if (await isPending(job)) await lineUp(line, id, job);
    }
  }
}
