import type { ShootPlan } from '../../contracts/plan.js';
import type { ShootReport } from '../../contracts/report.js';
import type { WatchEvent } from '../../contracts/watch.js';
import { StopledgerError } from '../../errors.js';
import type { JudgedFrameInput } from '../../shoot/input.js';
import { judgeShoot } from '../../shoot/judge.js';
import { type FoundFrame, frameNameOf, untakenName } from '../find-frames.js';
import { resolveReference } from '../plan-options.js';
import { type Arrived, compareReports } from './compare-reports.js';

/** The frames of a watched folder as they stand, and what the last judgement said of them. */
export class WatchedShoot {
  readonly #shoot: { id: string; name: string };
  readonly #plan: ShootPlan;
  readonly #names = new Map<string, string>();
  readonly #taken = new Set<string>();
  readonly #frames = new Map<string, JudgedFrameInput>();
  #arrived = new Map<string, Arrived>();
  #removed = new Set<string>();
  #changed = false;
  #report: ShootReport | null = null;

  constructor(name: string, plan: ShootPlan) {
    this.#shoot = { id: 'local', name };
    this.#plan = plan;
  }

  /** As judged last; null before the first frame and after the last one is gone. */
  get report(): ShootReport | null {
    return this.#report;
  }

  /** The frame name of a file, the same whenever it is asked for. */
  nameOf(path: string, below: string): string {
    const known = this.#names.get(path);
    if (known !== undefined) return known;
    const name = untakenName(frameNameOf(below), this.#taken);
    this.#taken.add(name);
    this.#names.set(path, name);
    return name;
  }

  /** @param known it needs no telling: an earlier run told it */
  put(path: string, input: JudgedFrameInput, known: boolean): void {
    const replaced = this.#frames.has(input.name);
    this.#frames.set(input.name, input);
    this.#removed.delete(input.name);
    this.#changed = true;
    if (!known) this.#arrived.set(input.name, { path, replaced });
  }

  /** @returns the frame's name, or null where none came from this path */
  remove(path: string): string | null {
    const name = this.#names.get(path);
    if (name === undefined || !this.#frames.delete(name)) return null;
    this.#arrived.delete(name);
    this.#removed.add(name);
    this.#changed = true;
    return name;
  }

  /** Judges all frames anew if any came or went since, and says what is new. */
  judge(): WatchEvent[] {
    if (!this.#changed) return [];
    this.#changed = false;
    const arrived = this.#arrived;
    const removed = [...this.#removed];
    this.#arrived = new Map();
    this.#removed = new Set();
    const before = this.#report;
    if (this.#frames.size === 0) {
      this.#report = null;
      return removed.map((name) => ({ event: 'removed', name }));
    }
    const frames = [...this.#frames.values()];
    this.#report = judgeShoot({ shoot: this.#shoot, plan: this.#planNow(), frames });
    return compareReports(before, this.#report, arrived, removed);
  }

  /** The reference frame counts as soon as it is there. */
  #planNow(): ShootPlan {
    const { referenceFrame, ...plan } = this.#plan;
    if (referenceFrame === undefined) return plan;
    const found: FoundFrame[] = [...this.#names]
      .filter(([, name]) => this.#frames.has(name))
      .map(([path, name]) => ({ path, name }));
    try {
      return { ...plan, referenceFrame: resolveReference(referenceFrame, found) };
    } catch (error) {
      if (error instanceof StopledgerError) return plan;
      throw error;
    }
  }

  /** Whether the plan's reference frame has come; true where it names none. */
  get referenceIsThere(): boolean {
    return this.#plan.referenceFrame === undefined || this.#planNow().referenceFrame !== undefined;
  }
}
