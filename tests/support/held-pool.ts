import type { MeasuredFrame } from '../../src/contracts/jobs.js';
import { StopledgerError } from '../../src/errors.js';
import type { MeasureRequest, MeasuringPool } from '../../src/queue/measuring-pool.js';
import { blankMeasurement } from '../fixtures/pool/blank-measurement.js';

/** Wakes those who wait for something to be so, whenever something happened. */
export class Noticed {
  #waiters: { enough: () => boolean; resolve: () => void }[] = [];

  now(): void {
    const ready = this.#waiters.filter(({ enough }) => enough());
    this.#waiters = this.#waiters.filter((waiter) => !ready.includes(waiter));
    for (const { resolve } of ready) resolve();
  }

  until(enough: () => boolean): Promise<void> {
    return new Promise((resolve) => {
      this.#waiters.push({ enough, resolve });
      this.now();
    });
  }
}

interface Held {
  path: string;
  resolve: (result: MeasuredFrame) => void;
  reject: (error: unknown) => void;
}

/** A measuring pool without processes: every frame is held until the test says how it ends. */
export class HeldPool implements MeasuringPool {
  /** What is being measured, oldest first. */
  held: Held[] = [];
  /** Paths that were asked for while they were held already. */
  readonly twiceAtOnce: string[] = [];

  constructor(
    readonly workers: number,
    private readonly noticed: Noticed,
  ) {}

  warm(): void {
    // There is nothing to start.
  }

  measure({ path, signal, onAttempt }: MeasureRequest): Promise<MeasuredFrame> {
    if (this.held.some((one) => one.path === path)) this.twiceAtOnce.push(path);
    onAttempt?.(1);
    return new Promise((resolve, reject) => {
      this.held.push({ path, resolve, reject });
      signal?.addEventListener('abort', () => {
        reject(signal.reason as Error);
      });
      this.noticed.now();
    });
  }

  /** Ends one frame, measured or refused by this code. */
  end(path: string, outcome: 'measured' | 'frame-corrupt'): void {
    const one = this.held.find((held) => held.path === path);
    this.held = this.held.filter((held) => held !== one);
    if (outcome === 'measured') one?.resolve(blankMeasurement(Buffer.from(path)));
    else one?.reject(new StopledgerError(outcome, 'refused by the test'));
  }

  sample(): Promise<never> {
    return Promise.reject(new Error('a held pool samples nothing'));
  }

  close(): Promise<void> {
    return Promise.resolve();
  }
}
