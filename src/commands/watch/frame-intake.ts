import PQueue from 'p-queue';
import type { FrameFailure, FrameProducts } from '../../contracts/jobs.js';
import type { FrameMeasurement } from '../../contracts/measurement.js';
import type { MeasuringOptions } from '../../contracts/options.js';
import { StopledgerError, asStopledgerError } from '../../errors.js';
import type { MeasuringPool } from '../../queue/measuring-pool.js';
import { type FileState, fileStateOf, sameContent } from './file-state.js';
import { type Kept, type KeptMeasurements, sha256Of } from './kept-measurements.js';
import { Settling } from './settling.js';

export interface TakenFrame {
  path: string;
  measurement: FrameMeasurement | null;
  failure: FrameFailure | null;
  products: FrameProducts | null;
  /** Known from an earlier run: it was there at the beginning and needed no measuring. */
  known: boolean;
}

export interface IntakeEvents {
  onFrame(frame: TakenFrame): void;
  onGone(path: string): void;
  /** Every file that was there at the beginning was looked up among what is kept. */
  onLookedUp(): void;
  /** How many frames were measured of those that have come, for a progress bar. */
  onProgress(done: number, total: number): void;
  /** What could not be kept; the frame counts all the same. */
  onNotKept(error: StopledgerError): void;
}

export interface IntakeOptions {
  pool: MeasuringPool;
  kept: KeptMeasurements;
  options: MeasuringOptions;
  patienceMs: number;
}

const LOOKUPS_AT_ONCE = 4;
/** Frames that come while others from the beginning still wait go first. */
const PRIORITY = { there: 0, came: 1 } as const;

/**
 * From "something happened to this file" to "this is its measurement": waits until it is whole, looks it up, measures
 * it, and does all of that again when it changed meanwhile. A file that cannot be read counts as unreadable only once it
 * stood still for the whole patience.
 */
export class FrameIntake {
  readonly #of: IntakeOptions;
  readonly #events: IntakeEvents;
  readonly #settling: Settling;
  readonly #lookups = new PQueue({ concurrency: LOOKUPS_AT_ONCE });
  readonly #measuring: PQueue;
  readonly #handBack = new AbortController();
  /** Files on their way, by path; true: something happened to one of them meanwhile. */
  readonly #running = new Map<string, boolean>();
  readonly #taken = new Map<string, FileState>();
  /** Files that were there at the beginning and are not looked up yet; null once all are. */
  #beginning: Set<string> | null = new Set();
  #ready = false;
  #stopped = false;
  #done = 0;
  #left = 0;

  constructor(options: IntakeOptions, events: IntakeEvents) {
    this.#of = options;
    this.#events = events;
    this.#measuring = new PQueue({ concurrency: options.pool.workers + 1 });
    this.#settling = new Settling(options.patienceMs, {
      onStill: (path, state, patient) => {
        this.#begin(path, state, patient);
      },
      onGone: (path) => {
        this.#lookedUp(path);
      },
    });
  }

  /** Something happened to this file. */
  seen(path: string): void {
    if (!this.#ready) this.#beginning?.add(path);
    if (this.#running.has(path)) this.#running.set(path, true);
    else this.#settling.touch(path);
  }

  /** This file is there no more. */
  gone(path: string): void {
    this.#lookedUp(path);
    if (this.#taken.delete(path)) this.#events.onGone(path);
  }

  /** All files that were there at the beginning have been seen. */
  ready(): void {
    this.#ready = true;
    this.#lookedUp(null);
  }

  /** Paths of the files that count now. */
  get paths(): Set<string> {
    return new Set(this.#taken.keys());
  }

  /** Takes no more; ends what is being measured, or hands it back after the deadline: the next start finds it again. */
  async stop(deadlineMs: number): Promise<void> {
    this.#stopped = true;
    this.#settling.close();
    this.#lookups.clear();
    this.#measuring.clear();
    const timer = setTimeout(() => {
      this.#handBack.abort(new StopledgerError('shutting-down', 'handed back'));
    }, deadlineMs);
    await Promise.all([this.#lookups.onIdle(), this.#measuring.onIdle()]);
    clearTimeout(timer);
  }

  #lookedUp(path: string | null): void {
    if (this.#beginning === null) return;
    if (path !== null) this.#beginning.delete(path);
    if (!this.#ready || this.#beginning.size > 0) return;
    this.#beginning = null;
    this.#events.onLookedUp();
  }

  #begin(path: string, state: FileState, patient: boolean): void {
    const taken = this.#taken.get(path);
    if (taken !== undefined && sameContent(taken, state)) return;
    this.#running.set(path, false);
    void this.#lookups.add(async () => {
      const kept = await this.#of.kept.find(path, state);
      const there = this.#beginning?.has(path) === true;
      if (kept !== null) {
        this.#end(path, state, { ...kept, path, known: there });
        this.#lookedUp(path);
        return;
      }
      this.#lookedUp(path);
      if (this.#stopped) return;
      this.#left += 1;
      const measure = async (): Promise<void> => {
        await this.#measure(path, state, patient);
        this.#left -= 1;
        this.#tellProgress();
      };
      void this.#measuring.add(measure, { priority: there ? PRIORITY.there : PRIORITY.came });
      this.#tellProgress();
    });
  }

  async #measure(path: string, state: FileState, patient: boolean): Promise<void> {
    const result = await this.#measured(path);
    if (result === null) return;
    const after = await fileStateOf(path);
    const unchanged = after !== null && sameContent(after, state);
    if (unchanged && result.failure !== null && !patient) {
      this.#running.delete(path);
      this.#settling.hold(path, state);
      return;
    }
    if (unchanged) {
      this.#done += 1;
      await this.#keep(path, state, result);
      this.#end(path, state, { ...result, path, known: false });
    } else {
      this.#running.delete(path);
      this.#settling.touch(path);
    }
  }

  /** Null when it was handed back. */
  async #measured(path: string): Promise<Omit<Kept, 'sha256'> | null> {
    const { pool, options } = this.#of;
    try {
      const { measurement, products } = await pool.measure({ path, options, signal: this.#handBack.signal });
      return { measurement, products, failure: null };
    } catch (thrown) {
      const { code, message } = asStopledgerError(thrown);
      if (code === 'shutting-down') return null;
      return { measurement: null, products: null, failure: { code, message } };
    }
  }

  async #keep(path: string, state: FileState, result: Omit<Kept, 'sha256'>): Promise<void> {
    // What trying again may mend is tried again at the next start.
    if (result.failure !== null && new StopledgerError(result.failure.code, '').retryable) return;
    try {
      const sha256 = result.measurement?.source.sha256 ?? (await sha256Of(path));
      await this.#of.kept.put(path, state, { ...result, sha256 });
    } catch (error) {
      this.#events.onNotKept(asStopledgerError(error));
    }
  }

  #end(path: string, state: FileState, frame: TakenFrame): void {
    this.#taken.set(path, state);
    this.#events.onFrame(frame);
    const again = this.#running.get(path) === true;
    this.#running.delete(path);
    if (again) this.#settling.touch(path);
  }

  #tellProgress(): void {
    this.#events.onProgress(this.#done, this.#done + this.#left);
  }
}
