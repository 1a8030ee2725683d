import type { ShootReport } from '../contracts/report.js';
import type { FrameMeasurement } from '../contracts/measurement.js';
import { StopledgerError } from '../errors.js';
import type { ShootRecord, ShootStore } from '../store/port.js';
import type { JudgeInput } from '../shoot/input.js';
import { frameHref } from './requests.js';

/** Shoots whose judgement is kept in memory. */
const KEPT = 8;

export interface Judged {
  version: number;
  report: ShootReport;
  /** Frame name -> its bytes' SHA-256, of the measured ones. */
  sha256s: ReadonlyMap<string, string>;
}

export interface ReportParts {
  store: Pick<ShootStore, 'listFrames'>;
  judge(input: JudgeInput): ShootReport;
}

/** Judges shoots and keeps the last answers for as long as nothing in the shoot changed. */
export class Reports {
  readonly #deps: ReportParts;
  readonly #kept = new Map<string, Judged>();
  readonly #underWay = new Map<string, Promise<Judged>>();
  /** Rises when anything is forgotten: what was being judged then is not kept, since it may be of a shoot that is gone. */
  #forgotten = 0;

  constructor(deps: ReportParts) {
    this.#deps = deps;
  }

  forget(shootId: string): void {
    this.#forgotten += 1;
    this.#kept.delete(shootId);
  }

  /** The report of the shoot as of now; a version that was judged is not judged again. */
  async of(shoot: ShootRecord): Promise<Judged> {
    const kept = this.#kept.get(shoot.id);
    if (kept?.version === shoot.version) {
      this.#kept.delete(shoot.id);
      this.#kept.set(shoot.id, kept);
      return kept;
    }
    const key = `${shoot.id} ${shoot.version}`;
    let judging = this.#underWay.get(key);
    if (judging === undefined) {
      judging = this.#judge(shoot).finally(() => this.#underWay.delete(key));
      this.#underWay.set(key, judging);
    }
    return judging;
  }

  async #judge(shoot: ShootRecord): Promise<Judged> {
    const forgottenBefore = this.#forgotten;
    const frames = await this.#deps.store.listFrames(shoot.id);
    const sha256s = new Map<string, string>();
    const inputs = frames
      .filter((frame) => frame.state === 'measured' || frame.state === 'failed')
      .map((frame) => {
        if (frame.measurement !== null) sha256s.set(frame.name, frame.sha256);
        return {
          name: frame.name,
          measurement: frame.measurement,
          failure: frame.failure,
          measurementHref: frame.measurement === null ? null : frameHref(shoot.id, frame.name),
        };
      });
    const report = this.#deps.judge({
      shoot: { id: shoot.id, name: shoot.name },
      plan: shoot.plan,
      frames: inputs,
    });
    const judged = { version: shoot.version, report, sha256s };
    if (this.#forgotten !== forgottenBefore) return judged;
    this.#kept.set(shoot.id, judged);
    for (const oldest of this.#kept.keys()) {
      if (this.#kept.size <= KEPT) break;
      this.#kept.delete(oldest);
    }
    return judged;
  }
}

/** Measurements by frame name, read again: they are too large to keep. */
export async function measurementsOf(
  store: Pick<ShootStore, 'listFrames'>,
  shootId: string,
): Promise<ReadonlyMap<string, FrameMeasurement>> {
  const measurements = new Map<string, FrameMeasurement>();
  for (const { name, measurement } of await store.listFrames(shootId)) {
    if (measurement !== null) measurements.set(name, measurement);
  }
  return measurements;
}

/** For a shoot whose frames are not all done, or that has none. */
export function notReady(pending: number, total: number): StopledgerError {
  const detail =
    total === 0
      ? 'no frame was received yet and the shoot is not complete'
      : `${pending} of ${total} frames received are not measured yet`;
  return new StopledgerError('report-not-ready', `${detail}; ask again, or with ?wait=seconds`);
}
