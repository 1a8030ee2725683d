import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pino } from 'pino';
import { readConfig } from '../../src/config.js';
import { startService } from '../../src/main.js';
import { CLUSTER_NOTE, startCluster, whatIsMissing } from '../cluster/cluster.js';
import { ShootClient, type ShootClientOptions, inParallel } from '../cluster/shoot-client.js';
import { type SimulatedFrame, sampleFrames, simulatedFrames } from '../cluster/simulated-frames.js';
import { WORKER_ENTRY } from '../support/processes.js';
import { FIXTURE_PROCESS } from '../support/service.js';

const WORKERS = [1, 2, 4] as const;
const ROUNDS = 3;
/** Frames with blank measurements, for what everything but measuring costs. */
const BLANK_FRAMES = 400;
const LIMIT_MS = 15 * 60_000;

type Services = Pick<ShootClientOptions, 'urls' | 'headers'>;
type Way = 'embedded' | 'redis';

/** Seconds from the first upload to the report. */
async function secondsFor(services: Services, frames: readonly SimulatedFrame[]): Promise<number> {
  const client = new ShootClient({ ...services, limitMs: LIMIT_MS });
  const startedAt = performance.now();
  await client.create();
  await inParallel(frames, 4, async (frame) => {
    await client.put(frame);
  });
  await client.complete();
  const { report } = await client.report();
  const seconds = (performance.now() - startedAt) / 1000;
  if (report.frames.length !== frames.length || report.summary.unreadable > 0)
    throw new Error('frames were not measured');
  await client.delete();
  return seconds;
}

/** Runs `work` against a service with so many measuring processes, of its own or over Redis in as many workers. */
async function withService<T>(way: Way, workers: number, blank: boolean, work: (services: Services) => Promise<T>) {
  if (way === 'redis') {
    const entry = blank ? { workerEntry: WORKER_ENTRY } : {};
    const cluster = await startCluster({ apis: 1, workers, from: 'source', workerEnvironment: { WORKERS: '1' }, environment: { DATABASE_URL: '' }, ...entry }); // prettier-ignore
    try {
      return await work({ urls: cluster.apis.map(({ url }) => url), headers: cluster.headers });
    } finally {
      await cluster.stop();
    }
  }
  const folder = await mkdtemp(join(tmpdir(), 'stopledger-bench-'));
  const config = readConfig({ PORT: '0', DATA_DIR: folder, WORKERS: String(workers), CALIBRATIONS: join(folder, 'none') }); // prettier-ignore
  const service = await startService(config, { log: pino({ level: 'silent' }), ...(blank ? { poolEntry: FIXTURE_PROCESS } : {}) }); // prettier-ignore
  try {
    return await work({ urls: [service.url] });
  } finally {
    await service.close();
    await rm(folder, { recursive: true, force: true });
  }
}

const median = (values: readonly number[]): number => [...values].sort((a, b) => a - b)[Math.floor(values.length / 2)] ?? NaN; // prettier-ignore

/**
 * Frames a second over Redis against embedded, and what the queue costs a frame. Both over SQLite and one folder, so
 * that nothing but the queue differs; rounds alternate, so that a busy machine is busy for both.
 */
export async function scaleBench(): Promise<void> {
  const missing = whatIsMissing();
  if (missing.length > 0) {
    console.log(`\nOver Redis against embedded: left out${CLUSTER_NOTE}`);
    return;
  }
  const frames = await sampleFrames();
  const warm = frames.slice(0, 8);
  const rates = new Map<string, number[]>();
  for (let round = 0; round < ROUNDS; round += 1) {
    for (const workers of WORKERS) {
      for (const way of ['embedded', 'redis'] as const) {
        const seconds = await withService(way, workers, false, async (services) => {
          await secondsFor(services, warm);
          return secondsFor(services, frames);
        });
        const key = `${way} ${workers}`;
        rates.set(key, [...(rates.get(key) ?? []), frames.length / seconds]);
      }
    }
  }
  const rate = (way: Way, workers: number): number => median(rates.get(`${way} ${workers}`) ?? []);
  const base = rate('embedded', 1);
  console.log(`\nThe sample shoot (${frames.length} frames), first upload to report, median of ${ROUNDS}; 1.00 is one embedded process (${base.toFixed(2)} frames/s)`); // prettier-ignore
  console.log('  measuring processes    embedded    over Redis, a worker each    Redis / embedded');
  for (const workers of WORKERS) {
    const [embedded, redis] = [rate('embedded', workers), rate('redis', workers)];
    console.log(`  ${workers}                      ${(embedded / base).toFixed(2)}        ${(redis / base).toFixed(2)}                         ${(redis / embedded).toFixed(2)}`); // prettier-ignore
  }

  const blanks = await simulatedFrames({ frames: BLANK_FRAMES, seed: 'bench', widthPx: 240, wholeEvery: 1000 });
  const costs = { embedded: [] as number[], redis: [] as number[] };
  for (let round = 0; round < ROUNDS; round += 1) {
    for (const way of ['embedded', 'redis'] as const) {
      const seconds = await withService(way, 1, true, async (services) => {
        await secondsFor(services, blanks.slice(0, 50));
        return secondsFor(services, blanks);
      });
      costs[way].push((1000 * seconds) / blanks.length);
    }
  }
  const [embedded, redis] = [median(costs.embedded), median(costs.redis)];
  console.log(`\nWithout measuring (${BLANK_FRAMES} frames, one process): ${embedded.toFixed(1)} ms a frame embedded, ${redis.toFixed(1)} ms over Redis: the queue costs ${(redis - embedded).toFixed(1)} ms a frame`); // prettier-ignore
}
