import type { Kysely, Transaction } from 'kysely';

interface Waiting<Schema> {
  work: (trx: Transaction<Schema>) => Promise<unknown>;
  resolve: (value: unknown) => void;
  reject: (reason: unknown) => void;
}

/** Most pieces of work in one transaction. */
const GROUP = 64;

/**
 * Many small writes in few commits: what is asked for while a commit is under way goes into the next one
 * together. Each caller's promise settles only after the commit that holds its work, so durability is unchanged;
 * a synced commit per write is what limits a burst of uploads otherwise. When a piece of work throws, its group
 * is rolled back and each piece is run again in a transaction of its own, so that it spoils nobody else's.
 */
export class GroupCommit<Schema> {
  readonly #db: Kysely<Schema>;
  #waiting: Waiting<Schema>[] = [];
  #running: Promise<void> | null = null;

  constructor(db: Kysely<Schema>) {
    this.#db = db;
  }

  /** Runs `work` in a transaction, perhaps with others' and perhaps twice: it must do nothing but query. */
  write<T>(work: (trx: Transaction<Schema>) => Promise<T>): Promise<T> {
    return new Promise<T>((resolve, reject) => {
      this.#waiting.push({ work, resolve: resolve as (value: unknown) => void, reject });
      this.#running ??= this.#drain();
    });
  }

  /** Resolves when nothing is waiting or running. */
  async idle(): Promise<void> {
    while (this.#running !== null) await this.#running;
  }

  async #drain(): Promise<void> {
    // One turn of the event loop: requests that arrived together are committed together.
    await new Promise(setImmediate);
    while (this.#waiting.length > 0) await this.#commit(this.#waiting.splice(0, GROUP));
    this.#running = null;
  }

  async #commit(group: Waiting<Schema>[]): Promise<void> {
    try {
      const results = await this.#db.transaction().execute(async (trx) => {
        const made: unknown[] = [];
        for (const { work } of group) made.push(await work(trx));
        return made;
      });
      group.forEach(({ resolve }, index) => {
        resolve(results[index]);
      });
    } catch (error) {
      const [only] = group;
      if (group.length === 1 && only !== undefined) only.reject(error);
      else for (const one of group) await this.#commit([one]);
    }
  }
}
