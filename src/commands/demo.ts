import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join, relative, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';
import { readConfig } from '../config.js';
import { asStopledgerError } from '../errors.js';
import { startService } from '../main.js';
import { findFrames } from './find-frames.js';
import { readPlan } from './plan-options.js';
import { printReport } from './present.js';
import { createProgress } from './progress.js';
import { fetchReportFolder, sendShoot } from './send.js';
import { ServiceClient } from './service-client.js';
import { processContext } from './terminal.js';

/** The repository's folder, from src/commands or from dist/src/commands. */
function repositoryFolder(): string {
  const here = fileURLToPath(new URL('../..', import.meta.url));
  return here.replace(/[\\/]dist[\\/]?$/, '');
}

/**
 * The whole job on the sample shoot: the real service on a free loopback port, frames sent through its HTTP API,
 * report fetched from it and printed, files left in out/demo.
 */
async function demo(): Promise<void> {
  const context = processContext();
  const shoot = join(repositoryFolder(), 'samples', 'shoot');
  const out = resolve('out', 'demo');
  const { frames } = await findFrames([shoot]);
  const dataDir = await mkdtemp(join(tmpdir(), 'stopledger-demo-'));
  const progress = createProgress(context.stderr, false);
  const startedAt = performance.now();
  try {
    const service = await startService(
      readConfig({
        ...context.env,
        HOST: '127.0.0.1',
        PORT: '0',
        DATA_DIR: dataDir,
        API_TOKENS: '',
        REDIS_URL: '',
        LOG_LEVEL: 'warn',
      }),
    );
    try {
      context.stdout.write(
        `Service on ${service.url}; sending ${frames.length} frames of ${relative(process.cwd(), shoot)}\n`,
      );
      const client = new ServiceClient({ to: service.url, signal: context.signal });
      const plan = await readPlan({ plan: join(repositoryFolder(), 'samples', 'plan.json') }, frames);
      const sent = await sendShoot({
        client,
        shootName: 'Village hall makers’ portrait day',
        plan,
        frames,
        progress,
        signal: context.signal,
      });
      const report = await fetchReportFolder(client, sent, out, progress);
      client.close();
      progress.clear();
      context.stdout.write('\n');
      printReport(report, {}, context);
      const seconds = ((performance.now() - startedAt) / 1000).toFixed(0);
      const { summary } = report;
      context.stdout.write(
        `\nDone in ${seconds} s. report.html, report.json, frames.csv and the pictures are in ${relative(process.cwd(), out)}\n` +
          `${summary.frames - summary.consistent} of ${summary.frames} frames are flagged; what goes wrong on purpose stands in samples/README.md. Flagged is an\n` +
          'answer, not a failure, so this ends with exit status 0; "stopledger audit" would end with 2.\n',
      );
    } finally {
      await service.close();
    }
  } finally {
    progress.clear();
    await rm(dataDir, { recursive: true, force: true });
  }
}

try {
  await demo();
} catch (error) {
  process.stderr.write(`The demo could not do its job: ${asStopledgerError(error).message}\n`);
  process.exitCode = 1;
}
