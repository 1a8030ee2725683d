import { readFile, readdir } from 'node:fs/promises';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { pino } from 'pino';
import { describe, expect, it, onTestFinished } from 'vitest';
import { readConfig } from '../../src/config.js';
import { FrameMeasurement } from '../../src/contracts/measurement.js';
import { ShootReport } from '../../src/contracts/report.js';
import { startService } from '../../src/main.js';
import { REAL_WORKER_ENTRY, startLogged } from '../support/processes.js';
import { REDIS_INSTALLED, REDIS_NOTE, newPrefix, redisForFile } from '../support/redis-server.js';
import { newShoot, put } from '../support/service.js';
import { temporaryFolder } from '../support/temporary-folder.js';

const SAMPLES = fileURLToPath(new URL('../../samples/', import.meta.url));
/** Two set-ups, a frame that did not fire, and one of knocked settings among them. */
const CHOSEN = ['01', '02', '03', '07', '08', '09', '16', '17', '18', '29', '30', '33'].map((n) => `MKR_00${n}.jpg`);

interface Answer {
  report: string;
  /** Frame -> its whole measurement and its pictures. */
  frames: Map<string, { measurement: string; preview: string; overlay: string }>;
}

/** Everything the service says of the frames; the shoot's id and how long measuring took are left out. */
async function answerOf(environment: Record<string, string>, dataDir: string): Promise<Answer> {
  const config = readConfig({ PORT: '0', DATA_DIR: dataDir, CALIBRATIONS: join(dataDir, 'none'), ...environment });
  const service = await startService(config, { log: pino({ level: 'silent' }) });
  onTestFinished(() => service.close());
  const plan = JSON.parse(await readFile(join(SAMPLES, 'plan.json'), 'utf8')) as unknown;
  const shoot = await newShoot(service.url, { name: 'Village hall makers’ portrait day', plan });
  for (const name of CHOSEN) {
    const { status } = await put(shoot, name, new Uint8Array(await readFile(join(SAMPLES, 'shoot', name))));
    if (status !== 201) throw new Error(`${name}: ${status}`);
  }
  await fetch(`${shoot}/complete`, { method: 'POST' });
  const report = await (await fetch(`${shoot}/report?wait=240`)).text();
  ShootReport.parse(JSON.parse(report));
  const id = new URL(shoot).pathname.split('/').at(-1) ?? '';
  const frames: Answer['frames'] = new Map();
  for (const name of CHOSEN) {
    const get = (what: string): Promise<Response> => fetch(`${shoot}/frames/${name}${what}`);
    const body = FrameMeasurement.parse(await (await get('')).json());
    const hex = async (what: string): Promise<string> =>
      Buffer.from(await (await get(what)).arrayBuffer()).toString('hex');
    const measurement = JSON.stringify({ ...body, timing: {} });
    frames.set(name, { measurement, preview: await hex('/preview'), overlay: await hex('/overlay') });
  }
  return { report: report.replaceAll(id, 'SHOOT'), frames };
}

describe.skipIf(!REDIS_INSTALLED)(
  `twelve frames of the sample shoot over Redis with three workers${REDIS_NOTE}`,
  () => {
    const redis = redisForFile();

    it('give the very bytes that the embedded service gives', async () => {
      expect(await readdir(join(SAMPLES, 'shoot'))).toEqual(expect.arrayContaining(CHOSEN));
      const embedded = await answerOf({ WORKERS: '2' }, temporaryFolder());
      const dataDir = temporaryFolder();
      const over = { REDIS_URL: redis().url, REDIS_PREFIX: newPrefix() };
      const start = () =>
        startLogged(REAL_WORKER_ENTRY, 'taking frames', {
          ...over,
          DATA_DIR: dataDir,
          WORKERS: '1',
          SHUTDOWN_SECONDS: '5',
        });
      const workers = await Promise.all([start(), start(), start()]);
      const spread = await answerOf({ ...over, WORKERS: '0' }, dataDir);
      expect(spread.report).toBe(embedded.report);
      expect([...spread.frames]).toEqual([...embedded.frames]);
      for (const worker of workers) expect(await worker.kill('SIGTERM')).toBe(0);
    }, 300_000);
  },
);
