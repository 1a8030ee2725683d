import type { ShootReport } from '../../contracts/report.js';
import { StopledgerError, asStopledgerError } from '../../errors.js';
import type { ReportFolder } from '../../render/files.js';

/** The page is written when no frame came for so long: it shows every picture, and judging must not wait for it. */
const PAGE_IDLE_MS = 2000;
/** At most this share of the time goes into the page of a shoot that has grown large. */
const PAGE_TIME_SHARE = 0.2;

/**
 * Keeps report.json, frames.csv and report.html of a shoot that still grows up to date: the first two after every
 * judgement, the page in pauses.
 */
export class LiveReport {
  readonly #folder: ReportFolder;
  readonly #onError: (error: StopledgerError) => void;
  #latest: ShootReport | null = null;
  #running: Promise<void> = Promise.resolve();
  #dataWaits = false;
  #timer: NodeJS.Timeout | null = null;
  #nextPageMs = 0;

  /** @param onError told what could not be written; the next update tries again */
  constructor(folder: ReportFolder, onError: (error: StopledgerError) => void) {
    this.#folder = folder;
    this.#onError = onError;
  }

  update(report: ShootReport): void {
    this.#latest = report;
    if (!this.#dataWaits) {
      this.#dataWaits = true;
      this.#then(async () => {
        this.#dataWaits = false;
        if (this.#latest !== null) await this.#folder.writeData(this.#latest);
      });
    }
    if (this.#timer !== null) clearTimeout(this.#timer);
    const waitMs = Math.max(PAGE_IDLE_MS, this.#nextPageMs - performance.now());
    this.#timer = setTimeout(() => {
      this.#timer = null;
      this.#then(async () => {
        if (this.#latest === null) return;
        const startedMs = performance.now();
        await this.#folder.finish(this.#latest);
        const tookMs = performance.now() - startedMs;
        this.#nextPageMs = performance.now() + tookMs * (1 / PAGE_TIME_SHARE - 1);
      });
    }, waitMs);
  }

  /** Ends what is being written; nothing is written after it. */
  async close(): Promise<void> {
    if (this.#timer !== null) clearTimeout(this.#timer);
    await this.#running;
  }

  #then(step: () => Promise<void>): void {
    this.#running = this.#running.then(step).catch((error: unknown) => {
      this.#onError(asStopledgerError(error));
    });
  }
}
