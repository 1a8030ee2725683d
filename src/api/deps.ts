import type { Logger } from 'pino';
import type { Config } from '../config.js';
import type { CameraCalibration } from '../contracts/calibration.js';
import type { ShootReport } from '../contracts/report.js';
import type { FrameQueue } from '../queue/port.js';
import type { JudgeInput } from '../shoot/input.js';
import type { FrameFiles, ShootStore } from '../store/port.js';
import type { Metrics } from './metrics.js';
import type { Notifier } from '../notify/notifier.js';
import type { Reports } from './reports.js';
import type { ProgressByVersion } from './progress.js';
import type { ShootEvents } from './shoot-events.js';

/** What the API works with; every part is behind its port. */
export interface AppDeps {
  config: Config;
  store: ShootStore;
  files: FrameFiles;
  queue: FrameQueue;
  events: ShootEvents;
  progress: ProgressByVersion;
  /** Cameras whose tone response is known; read at start. */
  calibrations: readonly CameraCalibration[];
  judge(input: JudgeInput): ShootReport;
  reports: Reports;
  notifier: Notifier;
  metrics: Metrics;
  log: Logger;
  /** Aborted when the service begins to shut down: no new work, and what waits ends. */
  shuttingDown: AbortSignal;
}
