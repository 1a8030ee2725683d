import type { FrameFailure, MeasureJob, MeasuredFrame } from '../contracts/jobs.js';

/** Who measured a frame and with what; told by queues whose workers may differ. */
export interface MeasuredBy {
  worker: string;
  /** Of this package and the libraries that measure, by name. */
  versions: Readonly<Record<string, string>>;
}

export type MeasureOutcome =
  | { job: MeasureJob; ok: true; result: MeasuredFrame; attempts: number; measuredBy?: MeasuredBy }
  | { job: MeasureJob; ok: false; failure: FrameFailure; attempts: number };

export interface FrameQueueEvents {
  /** Called when a frame is taken up by a measuring process. */
  onStarted(job: MeasureJob): void | Promise<void>;
  /**
   * Called once a frame is measured or finally failed; the queue waits for the promise before it forgets the job,
   * and delivers the outcome again when it is rejected.
   */
  onOutcome(outcome: MeasureOutcome): void | Promise<void>;
  /** Called for a frame that was taken up but handed back unmeasured, by an orderly `close` or since its worker died. */
  onReleased(job: MeasureJob): void | Promise<void>;
}

/**
 * Carries frames to measuring processes. It is not the truth of what was received: the shoot store is, and
 * at start the service puts everything received but not measured back in.
 */
export interface FrameQueue {
  start(events: FrameQueueEvents): Promise<void>;
  /** Safe to repeat: a job already waiting or running is not added again. */
  add(job: MeasureJob): Promise<void>;
  /** Forget waiting jobs of a shoot; running ones end and their outcome is dropped. */
  dropShoot(shootId: string): Promise<void>;
  counts(): Promise<{ waiting: number; running: number }>;
  /** Workers there are now: of this process, or of all that take frames from the same queue. */
  workers(): Promise<number>;
  /** Take no more, end what runs within `deadlineMs` or hand it back by `onReleased`. */
  close(deadlineMs: number): Promise<void>;
}
