import { mkdtemp, rm } from 'node:fs/promises';
import { availableParallelism, tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { findFrames } from '../../src/commands/find-frames.js';
import { readPlan } from '../../src/commands/plan-options.js';
import { createProgress } from '../../src/commands/progress.js';
import { fetchReportFolder, sendShoot } from '../../src/commands/send.js';
import { ServiceClient } from '../../src/commands/service-client.js';
import { readConfig } from '../../src/config.js';
import type { ShootReport } from '../../src/contracts/report.js';
import { createLog } from '../../src/log.js';
import { startService } from '../../src/main.js';

const SAMPLES = fileURLToPath(new URL('../../samples/', import.meta.url));

export interface SampleReport {
  report: ShootReport;
  /** Folder with report.html, report.json, frames.csv and the pictures. */
  folder: string;
  /** The shoot at the service that measured it, which still runs. */
  shootUrl: string;
  close(): Promise<void>;
}

/** Measures the sample shoot once, by the real service: its report on disk, and the service that serves the same. */
export async function sampleReport(): Promise<SampleReport> {
  const root = await mkdtemp(join(tmpdir(), 'stopledger-sample-'));
  const config = readConfig({ PORT: '0', DATA_DIR: join(root, 'data'), WORKERS: String(Math.min(2, availableParallelism())), SHUTDOWN_SECONDS: '0' }); // prettier-ignore
  const service = await startService(config, { log: createLog(config, { write: () => undefined }) });
  const close = async (): Promise<void> => {
    await service.close();
    await rm(root, { recursive: true, force: true, maxRetries: 3 });
  };
  try {
    const { signal } = new AbortController();
    const { frames } = await findFrames([join(SAMPLES, 'shoot')]);
    const plan = await readPlan({ plan: join(SAMPLES, 'plan.json') }, frames);
    const progress = createProgress({ write: () => undefined }, true);
    const client = new ServiceClient({ to: service.url, signal });
    const sent = await sendShoot({ client, shootName: 'Village hall makers’ portrait day', plan, frames, progress, signal }); // prettier-ignore
    const folder = join(root, 'report');
    const report = await fetchReportFolder(client, sent, folder, progress);
    client.close();
    return { report, folder, shootUrl: `${service.url}/v1/shoots/${sent.shootId}`, close };
  } catch (error) {
    await close();
    throw error;
  }
}
