import type { DeliveryAttempt } from '../store/port.js';
import { Turns } from './turns.js';

/**
 * Makes attempts when their time has come. It is not the truth of what has to be delivered, the store is; setting an
 * attempt twice changes nothing, and one that is lost is set again by a sweep.
 */
export interface DeliverySchedule {
  /** Attempts begin; `make` never throws. */
  start(make: (attempt: DeliveryAttempt) => Promise<void>): Promise<void>;
  /** `lane`: whom it goes to and for whom; lanes take turns. */
  set(attempt: DeliveryAttempt, lane: string): Promise<void>;
  drop(attempts: readonly DeliveryAttempt[]): Promise<void>;
  /** Sets off no more and waits for what runs. */
  close(): Promise<void>;
}

export const attemptId = ({ id, at }: DeliveryAttempt): string => `${id}-${Date.parse(at)}`;

/** In this process: timers. */
export function createTimerSchedule(now: () => number = Date.now): DeliverySchedule {
  /** Attempts that are set, until they are begun. */
  const timers = new Map<string, NodeJS.Timeout>();
  const turns = new Turns();
  let make: ((attempt: DeliveryAttempt) => Promise<void>) | null = null;
  let closed = false;
  return {
    start(given) {
      make = given;
      return Promise.resolve();
    },
    set(attempt, lane) {
      const key = attemptId(attempt);
      if (closed || timers.has(key)) return Promise.resolve();
      const timer = setTimeout(
        () => {
          turns.add(lane, async () => {
            if (timers.get(key) !== timer) return; // Dropped while it waited for its turn.
            timers.delete(key);
            await make?.(attempt);
          });
        },
        Math.max(0, Date.parse(attempt.at) - now()),
      );
      timers.set(key, timer);
      return Promise.resolve();
    },
    drop(attempts) {
      for (const key of attempts.map(attemptId)) {
        clearTimeout(timers.get(key));
        timers.delete(key);
      }
      return Promise.resolve();
    },
    async close() {
      closed = true;
      for (const timer of timers.values()) clearTimeout(timer);
      timers.clear();
      await turns.idle();
    },
  };
}
