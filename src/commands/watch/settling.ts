import { type FileState, endsAsItsFormat, fileStateOf, untouched } from './file-state.js';

/** How often files that may still be written are looked at. */
const LOOK_MS = 50;
/** Unchanged for so long: whole, where it ends as its format ends. */
const ENDED_MS = 100;
/** The same where its end does not show: writers pause between pieces. */
const PAUSE_MS = 500;
/** Nobody writes to a file that was last touched so long ago. */
const OLD_MS = 3000;

export interface SettlingEvents {
  /**
   * A file seems whole. `patient`: it was given the whole patience, so what is wrong with it now is not the hurry.
   */
  onStill(path: string, state: FileState, patient: boolean): void;
  onGone(path: string): void;
}

interface Looked {
  state: FileState | null;
  /** `performance.now()` of the last change seen. */
  sinceMs: number;
  neededMs: number;
  patient: boolean;
}

/**
 * Tells when files are whole, by looking at those that something happened to until nothing changes any more. Events of
 * the file system alone do not tell: the last one may come before the last byte, or be swallowed.
 */
export class Settling {
  readonly #events: SettlingEvents;
  readonly #patienceMs: number;
  readonly #looked = new Map<string, Looked>();
  #timer: NodeJS.Timeout | null = null;
  #closed = false;

  /** @param patienceMs how long a file that cannot be read, or is empty, has to stand still before it is given up */
  constructor(patienceMs: number, events: SettlingEvents) {
    this.#patienceMs = patienceMs;
    this.#events = events;
  }

  /** Files that are not known to be whole yet. */
  get size(): number {
    return this.#looked.size;
  }

  /** Something happened to this file. */
  touch(path: string): void {
    if (this.#closed || this.#looked.has(path)) return;
    this.#looked.set(path, { state: null, sinceMs: performance.now(), neededMs: PAUSE_MS, patient: false });
    this.#schedule();
  }

  /** This file could not be read as it stood: it is told again when it changed, or when the patience is at an end. */
  hold(path: string, state: FileState): void {
    if (this.#closed) return;
    this.#looked.set(path, { state, sinceMs: performance.now(), neededMs: this.#patienceMs, patient: true });
    this.#schedule();
  }

  close(): void {
    this.#closed = true;
    if (this.#timer !== null) clearTimeout(this.#timer);
    this.#looked.clear();
  }

  #schedule(): void {
    if (this.#closed || this.#timer !== null || this.#looked.size === 0) return;
    this.#timer = setTimeout(() => {
      void Promise.all([...this.#looked].map(([path, looked]) => this.#look(path, looked))).finally(() => {
        this.#timer = null;
        this.#schedule();
      });
    }, LOOK_MS);
  }

  async #look(path: string, looked: Looked): Promise<void> {
    const state = await fileStateOf(path);
    if (this.#closed || this.#looked.get(path) !== looked) return;
    if (state === null) {
      this.#looked.delete(path);
      this.#events.onGone(path);
      return;
    }
    const now = performance.now();
    if (looked.state === null || !untouched(looked.state, state)) {
      const first = looked.state === null;
      looked.state = state;
      looked.sinceMs = now;
      looked.patient = state.bytes === 0;
      looked.neededMs = state.bytes === 0 ? this.#patienceMs : PAUSE_MS;
      const ended = state.bytes > 0 && (await endsAsItsFormat(path, state.bytes));
      if (ended) looked.neededMs = ENDED_MS;
      const ageMs = Date.now() - Math.max(state.mtimeMs, state.ctimeMs);
      if (!first || ageMs < OLD_MS || (state.bytes === 0 && ageMs < this.#patienceMs)) return;
    } else if (now - looked.sinceMs < looked.neededMs) return;
    if (this.#closed || this.#looked.get(path) !== looked) return;
    this.#looked.delete(path);
    this.#events.onStill(path, state, looked.patient);
  }
}
