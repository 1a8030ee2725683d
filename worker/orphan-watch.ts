import { Worker } from 'node:worker_threads';

/** How soon an orphan ends itself. */
const LOOK_EVERY_MS = 2000;

const WATCH = `
  const { workerData } = require('node:worker_threads');
  setInterval(() => {
    if (process.ppid !== workerData.parentPid) process.kill(process.pid, 'SIGKILL');
  }, workerData.everyMs);
`;

/**
 * Ends this process when its parent is gone. A process that waits learns of it by its closed channel, but one whose
 * main thread hangs in a decoder would outlive a killed service for ever, so a second thread watches.
 */
export function endWithParent(): void {
  const workerData = { parentPid: process.ppid, everyMs: LOOK_EVERY_MS };
  new Worker(WATCH, { eval: true, workerData, execArgv: [], stdout: false, stderr: false }).unref();
}
