import type { Kysely, Transaction } from 'kysely';

interface Waiting<Schema> {
  key: string;
  work: (trx: Transaction<Schema>) => Promise<unknown>;
  resolve: (value: unknown) => void;
  reject: (reason: unknown) => void;
}

export interface GroupCommitOptions<Schema> {
  /** Done in the transaction before the first piece of work under a key. */
  lock?: (trx: Transaction<Schema>, key: string) => Promise<unknown>;
  /** An error that says nothing of the work itself (the database is away): the group is not tried piece by piece. */
  spoilsAll?: (error: unknown) => boolean;
  /** Makes durable what is committed, where committing does not; waited for before anybody is told. */
  sync?: () => Promise<void>;
}

/** Most pieces of work in one transaction. */
const GROUP = 64;

/**
 * Many small writes in few commits: what is asked for while a commit is under way goes into the next one
 * together. Each caller's promise settles only after the commit that holds its work, so durability is unchanged;
 * a synced commit per write is what limits a burst of uploads otherwise. When a piece of work throws, its group
 * is rolled back and each piece is run again in a transaction of its own, so that it spoils nobody else's.
 *
 * Inside a group the keys come in their order, the work under one key as it came: processes that lock keys one after
 * the other in the same order never wait for each other in a circle.
 */
export class GroupCommit<Schema> {
  readonly #db: Kysely<Schema>;
  readonly #options: GroupCommitOptions<Schema>;
  #waiting: Waiting<Schema>[] = [];
  #running: Promise<void> | null = null;

  constructor(db: Kysely<Schema>, options: GroupCommitOptions<Schema> = {}) {
    this.#db = db;
    this.#options = options;
  }

  /** Runs `work` in a transaction, perhaps with others' and perhaps twice: it must do nothing but query. */
  write<T>(key: string, work: (trx: Transaction<Schema>) => Promise<T>): Promise<T> {
    return new Promise<T>((resolve, reject) => {
      this.#waiting.push({ key, work, resolve: resolve as (value: unknown) => void, reject });
      this.#running ??= this.#drain();
    });
  }

  /** Runs one write that needs no transaction, and tells of it when it is as durable as those of a group. */
  async alone<T>(work: () => Promise<T>): Promise<T> {
    const result = await work();
    await this.#options.sync?.();
    return result;
  }

  /** Resolves when nothing is waiting or running. */
  async idle(): Promise<void> {
    while (this.#running !== null) await this.#running;
  }

  async #drain(): Promise<void> {
    // One turn of the event loop: requests that arrived together are committed together.
    await new Promise(setImmediate);
    while (this.#waiting.length > 0) {
      const group = this.#waiting.splice(0, GROUP);
      await this.#commit(group.sort((a, b) => (a.key < b.key ? -1 : a.key > b.key ? 1 : 0)));
    }
    this.#running = null;
  }

  async #commit(group: Waiting<Schema>[]): Promise<void> {
    const { lock, spoilsAll, sync } = this.#options;
    let results: unknown[];
    try {
      results = await this.#db.transaction().execute(async (trx) => {
        const made: unknown[] = [];
        let locked: string | null = null;
        for (const { key, work } of group) {
          if (key !== locked) await lock?.(trx, key);
          locked = key;
          made.push(await work(trx));
        }
        return made;
      });
    } catch (error) {
      const [only] = group;
      if (group.length === 1 && only !== undefined) only.reject(error);
      else if (spoilsAll?.(error) === true) for (const one of group) one.reject(error);
      else for (const one of group) await this.#commit([one]);
      return;
    }
    try {
      await sync?.();
    } catch (error) {
      // It is committed: run again it would find itself.
      for (const { reject } of group) reject(error);
      return;
    }
    group.forEach(({ resolve }, index) => {
      resolve(results[index]);
    });
  }
}
