import type { Logger } from 'pino';
import { FrameMeasurement } from '../contracts/measurement.js';
import { StopledgerError } from '../errors.js';
import type { Notifier } from '../notify/notifier.js';
import type { FrameQueueEvents, MeasureOutcome } from '../queue/port.js';
import type { FrameFiles, ShootStore } from '../store/port.js';
import { MEASURING_VERSIONS } from '../version.js';
import type { Metrics } from './metrics.js';
import type { ShootEvents } from './shoot-events.js';

/**
 * Writes what the queue reports into the store, guarded: an outcome delivered twice, or for a shoot that is gone,
 * changes nothing. Rejected when it could not be written; the queue delivers it again then.
 */
export function recordOutcomes(parts: {
  store: ShootStore;
  files: FrameFiles;
  events: ShootEvents;
  metrics: Pick<Metrics, 'outcome'>;
  notifier: Pick<Notifier, 'mayBeReady'>;
  log: Logger;
}): FrameQueueEvents {
  const { store, files, events, metrics, notifier, log } = parts;

  async function record(outcome: MeasureOutcome): Promise<void> {
    const { shootId, frameName, sha256 } = outcome.job;
    if (!outcome.ok) {
      if (await store.storeFailure(shootId, frameName, outcome.failure)) {
        log.warn({ shootId, frameName, ...outcome.failure, attempts: outcome.attempts }, 'frame failed');
        events.frame(shootId, frameName, 'failed', outcome.failure);
        metrics.outcome(null);
        void notifier.mayBeReady(shootId);
      }
      return;
    }
    const checked = FrameMeasurement.safeParse(outcome.result.measurement);
    if (!checked.success) {
      const message = `the measurement does not follow its schema: ${checked.error.issues
        .slice(0, 3)
        .map((issue) => `${issue.path.join('.')}: ${issue.message}`)
        .join('; ')}`;
      return record({ ...outcome, ok: false, failure: { code: 'internal', message } });
    }
    await files.putProducts(shootId, sha256, outcome.result.products);
    const measurement = { ...checked.data, measuredWith: { ...(outcome.measuredBy?.versions ?? MEASURING_VERSIONS) } };
    if (await store.storeMeasurement(shootId, frameName, measurement)) {
      log.info({ shootId, frameName, attempts: outcome.attempts, ...outcome.measuredBy }, 'frame measured');
      events.frame(shootId, frameName, 'measured');
      metrics.outcome(measurement);
      void notifier.mayBeReady(shootId);
    } else if ((await store.getShoot(shootId)) === null) {
      // Deleted while its pictures were written.
      await files.deleteShoot(shootId);
    }
  }

  return {
    async onStarted(job) {
      if (await store.claimFrame(job.shootId, job.frameName)) events.frame(job.shootId, job.frameName, 'measuring');
    },

    async onOutcome(outcome) {
      const { shootId, frameName } = outcome.job;
      if ((await store.getFrameRecord(shootId, frameName)) === null) return;
      try {
        await record(outcome);
      } catch (error) {
        // Deleted while its pictures were written: the folder went away under them.
        if ((await store.getFrameRecord(shootId, frameName)) === null) {
          await files.deleteShoot(shootId);
          return;
        }
        throw error;
      }
    },

    async onReleased(job) {
      await store.releaseFrame(job.shootId, job.frameName);
    },
  };
}

/** For logs: what was thrown, without what a client sent. */
export function describe(error: unknown): { code: string; message: string } {
  if (error instanceof StopledgerError) return { code: error.code, message: error.message };
  return { code: 'unexpected', message: error instanceof Error ? (error.stack ?? error.message) : String(error) };
}
