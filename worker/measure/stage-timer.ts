/** Wall time by stage, in milliseconds. */
export class StageTimer {
  readonly milliseconds: Record<string, number> = {};
  #last = performance.now();

  /** Gives the time since the last lap to `stage`. */
  lap(stage: string): void {
    const now = performance.now();
    this.milliseconds[stage] = (this.milliseconds[stage] ?? 0) + now - this.#last;
    this.#last = now;
  }
}
