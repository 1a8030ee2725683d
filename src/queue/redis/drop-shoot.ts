import type { Queue } from 'bullmq';
import type { Redis } from 'ioredis';
import type { OwnKeys } from './keys.js';

const DROPPED_KEPT_MS = 24 * 3600 * 1000;

/** Shoots whose jobs are to go; those that could not be removed yet are tried again. */
export class ShootsToDrop {
  readonly #parts: { redis: Redis; queue: Queue; keys: OwnKeys };
  readonly #ids = new Set<string>();

  constructor(parts: { redis: Redis; queue: Queue; keys: OwnKeys }) {
    this.#parts = parts;
  }

  add(shootId: string): void {
    this.#ids.add(shootId);
  }

  /** Removes all of them that it can. Throws what Redis does. */
  async remove(): Promise<void> {
    for (const shootId of this.#ids) await this.#removeOne(shootId);
  }

  async #removeOne(shootId: string): Promise<void> {
    const { redis, queue, keys } = this.#parts;
    for (const id of await redis.smembers(keys.shoot(shootId))) {
      // Marked first: a job that runs is locked, and whoever ends it finds the mark.
      await redis.set(keys.dropped(id), '1', 'PX', DROPPED_KEPT_MS);
      await redis.del(keys.result(id));
      if ((await queue.remove(id)) === 1) await redis.del(keys.dropped(id));
    }
    await redis.del(keys.shoot(shootId));
    await redis.hdel(keys.rounds, shootId);
    this.#ids.delete(shootId);
  }
}
