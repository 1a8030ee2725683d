import type { ShootReport } from '../../contracts/report.js';

/** Element ids of frames and set-ups: by position, so that no name can spoil one. */
export class Anchors {
  readonly #frames: Map<string, string>;
  readonly #setups: Map<string, string>;

  constructor(report: ShootReport) {
    this.#frames = new Map(report.frames.map((frame, i) => [frame.name, `frame-${i + 1}`]));
    this.#setups = new Map(report.setups.map((setup, i) => [setup.id, `setup-${i + 1}`]));
  }

  frame(name: string): string {
    return this.#frames.get(name) ?? 'frames';
  }

  setup(id: string): string {
    return this.#setups.get(id) ?? 'setups';
  }
}
