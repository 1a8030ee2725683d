import PQueue from 'p-queue';

/** Deliveries under way at a time in this process. */
const AT_ONCE = 64;

/** Of these to one receiver for one studio: an attempt that nobody answers keeps its place for as long as its limit. */
export const AT_ONCE_A_LANE = 2;

/**
 * Turns by lanes: of a lane at most `AT_ONCE_A_LANE` pieces of work run or wait for a place among all of them, so one
 * whose work takes long makes its own wait and others at most for their share.
 */
export class Turns {
  readonly #all = new PQueue({ concurrency: AT_ONCE });
  readonly #lanes = new Map<string, PQueue>();

  /** `work` must not throw. */
  add(lane: string, work: () => Promise<void>): void {
    let line = this.#lanes.get(lane);
    if (line === undefined) {
      line = new PQueue({ concurrency: AT_ONCE_A_LANE });
      this.#lanes.set(lane, line);
      line.on('idle', () => this.#lanes.delete(lane));
    }
    void line.add(() => this.#all.add(work));
  }

  /** Resolves when nothing runs or waits. */
  async idle(): Promise<void> {
    await Promise.all([...this.#lanes.values()].map((line) => line.onIdle()));
  }
}
