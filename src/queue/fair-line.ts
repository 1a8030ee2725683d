/**
 * A waiting line that serves its groups in turn: a group of three behind a group of three thousand waits for
 * three others, not for three thousand. Inside a group, first come first served.
 */
export class FairLine<T> {
  /** Groups in the order in which they are served next; none is empty. */
  readonly #groups = new Map<string, Map<string, T>>();
  #size = 0;

  get size(): number {
    return this.#size;
  }

  has(group: string, key: string): boolean {
    return this.#groups.get(group)?.has(key) ?? false;
  }

  /** False when the key is waiting already. */
  add(group: string, key: string, item: T): boolean {
    let waiting = this.#groups.get(group);
    if (waiting === undefined) {
      waiting = new Map();
      this.#groups.set(group, waiting);
    }
    if (waiting.has(key)) return false;
    waiting.set(key, item);
    this.#size += 1;
    return true;
  }

  /** Takes the next item and moves its group to the end. */
  take(): T | undefined {
    for (const [group, waiting] of this.#groups) {
      this.#groups.delete(group);
      for (const [key, item] of waiting) {
        waiting.delete(key);
        this.#size -= 1;
        if (waiting.size > 0) this.#groups.set(group, waiting);
        return item;
      }
    }
    return undefined;
  }

  /** Forgets a whole group; returns how many items went. */
  drop(group: string): number {
    const dropped = this.#groups.get(group)?.size ?? 0;
    this.#groups.delete(group);
    this.#size -= dropped;
    return dropped;
  }
}
