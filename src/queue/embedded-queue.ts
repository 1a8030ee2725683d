import type { FrameFailure, MeasureJob, MeasuredFrame } from '../contracts/jobs.js';
import { StopledgerError, asStopledgerError } from '../errors.js';
import { FairLine } from './fair-line.js';
import type { MeasuringPool } from './measuring-pool.js';
import { pause } from './pause.js';
import type { FrameQueue, FrameQueueEvents, MeasureOutcome } from './port.js';

export interface EmbeddedQueueOptions {
  pool: MeasuringPool;
  /** Where a frame's file is on this machine; see `FrameFiles.localPath`. */
  localPath: (shootId: string, sha256: string) => string | null;
  /** Told when an event handler was rejected; the outcome is delivered again. */
  onHandlerError: (error: unknown, job: MeasureJob) => void;
  /** Wait before an outcome is delivered again: doubled each time from the first to the second value. */
  redeliverMs?: readonly [first: number, most: number];
}

interface Running {
  job: MeasureJob;
  dropped: boolean;
  abandon: AbortController;
}

const keyOf = (job: MeasureJob): string => `${job.frameName}\n${job.sha256}`;

/**
 * The frame queue inside this process: jobs wait in memory (the shoot store is the truth and puts them back after
 * a restart), shoots are served in turn, and a pool of child processes on this machine measures.
 */
export function createEmbeddedQueue(options: EmbeddedQueueOptions): FrameQueue {
  const { pool, localPath, onHandlerError, redeliverMs = [500, 30_000] } = options;
  const line = new FairLine<MeasureJob>();
  const running = new Map<string, Running>();
  const runs = new Set<Promise<void>>();
  let events: FrameQueueEvents | null = null;
  let closed = false;
  const deadline = new AbortController();

  const runningKey = (job: MeasureJob): string => `${job.shootId}\n${keyOf(job)}`;

  async function measure(job: MeasureJob, signal: AbortSignal): Promise<MeasureOutcome> {
    let attempts = 0;
    try {
      const path = localPath(job.shootId, job.sha256);
      if (path === null) {
        throw new StopledgerError('frame-file-missing', 'the embedded queue needs frame files on this machine');
      }
      const result: MeasuredFrame = await pool.measure({
        path,
        options: job.options,
        sha256: job.sha256,
        signal,
        onAttempt: (number) => {
          attempts = number;
        },
      });
      return { job, ok: true, result, attempts };
    } catch (thrown) {
      const { code, message } = asStopledgerError(thrown);
      const failure: FrameFailure = { code, message };
      return { job, ok: false, failure, attempts };
    }
  }

  /** Delivers until the handler accepts: a full disk for a minute must not lose a measurement. */
  async function deliver(outcome: MeasureOutcome, to: FrameQueueEvents, run: Running): Promise<void> {
    for (let waitMs = redeliverMs[0]; ; waitMs = Math.min(waitMs * 2, redeliverMs[1])) {
      try {
        await to.onOutcome(outcome);
        return;
      } catch (error) {
        onHandlerError(error, outcome.job);
        await pause(waitMs, deadline.signal);
        if (run.dropped) return;
        if (deadline.signal.aborted) {
          await to.onReleased(outcome.job);
          return;
        }
      }
    }
  }

  async function work(run: Running, to: FrameQueueEvents): Promise<void> {
    const { job } = run;
    try {
      await to.onStarted(job);
    } catch (error) {
      onHandlerError(error, job);
    }
    const outcome = await measure(job, run.abandon.signal);
    if (run.dropped) return;
    if (run.abandon.signal.aborted) await to.onReleased(job);
    else await deliver(outcome, to, run);
  }

  function pump(): void {
    while (!closed && events !== null && running.size < pool.workers) {
      const job = line.take();
      if (job === undefined) return;
      const run: Running = { job, dropped: false, abandon: new AbortController() };
      const key = runningKey(job);
      running.set(key, run);
      const done = work(run, events)
        .catch((error: unknown) => {
          onHandlerError(error, job);
        })
        .finally(() => {
          running.delete(key);
          runs.delete(done);
          pump();
        });
      runs.add(done);
    }
  }

  return {
    async start(given) {
      events = given;
      pump();
    },

    async add(job) {
      if (closed) return; // It stands in the store as received and is put back at the next start.
      const inHand = running.get(runningKey(job));
      if (inHand !== undefined && !inHand.dropped) return;
      line.add(job.shootId, keyOf(job), job);
      pump();
    },

    async dropShoot(shootId) {
      line.drop(shootId);
      for (const run of running.values()) {
        if (run.job.shootId === shootId) run.dropped = true;
      }
    },

    async counts() {
      return { waiting: line.size, running: running.size };
    },

    workers: () => Promise.resolve(pool.workers),

    async close(deadlineMs) {
      closed = true;
      const timer = setTimeout(() => {
        for (const run of running.values()) run.abandon.abort(new StopledgerError('shutting-down', 'out of time'));
        deadline.abort();
      }, deadlineMs);
      await Promise.all(runs);
      clearTimeout(timer);
      await pool.close();
    },
  };
}
