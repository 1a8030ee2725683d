/** Seeded random numbers: the same seed gives the same shoot on every machine (mulberry32, public domain). */
export class SeededRandom {
  #state: number;

  constructor(seed: number) {
    this.#state = seed >>> 0;
  }

  /** 0 (included) to 1 (not included). */
  unit(): number {
    this.#state = (this.#state + 0x6d2b79f5) >>> 0;
    let t = this.#state;
    t = Math.imul(t ^ (t >>> 15), t | 1);
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  }

  between(from: number, to: number): number {
    return from + (to - from) * this.unit();
  }

  /** Whole number, both ends included. */
  whole(from: number, to: number): number {
    return Math.floor(this.between(from, to + 1));
  }

  normal(sigma = 1): number {
    const u = 1 - this.unit();
    return sigma * Math.sqrt(-2 * Math.log(u)) * Math.cos(2 * Math.PI * this.unit());
  }

  chance(probability: number): boolean {
    return this.unit() < probability;
  }

  pick<T>(items: readonly T[]): T {
    return items[this.whole(0, items.length - 1)] as T;
  }
}
