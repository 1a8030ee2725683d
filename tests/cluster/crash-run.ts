import { isDeepStrictEqual } from 'node:util';
import { setTimeout as delay } from 'node:timers/promises';
import { Redis } from 'ioredis';
import { seededRandom } from '../../samples/make/random.js';
import type { MeasuredFrame } from '../../src/contracts/jobs.js';
import { FrameMeasurement } from '../../src/contracts/measurement.js';
import type { Cluster } from './cluster.js';
import type { PowerCut } from './power-cut.js';
import { ShootClient, inParallel } from './shoot-client.js';
import type { SimulatedFrame } from './simulated-frames.js';
import { type Scenario, strike } from './strikes.js';

export interface CrashRun {
  run: number;
  /** What was killed, and after how many of all uploads and measurements. */
  strikes: string[];
  acknowledged: number;
  /** Acknowledged and not measured in the end. */
  lost: number;
  /** Twice in the report, or stored twice. */
  double: number;
  /** Measured other than the reference, or with another picture. */
  wrong: number;
  /** Keys of the shoot that stay in Redis. */
  left: number;
  /** Answers that the client did not hope for, by kind. */
  refused: Record<string, number>;
  seconds: number;
}

export interface CrashParts {
  cluster: Cluster;
  power: PowerCut;
  frames: readonly SimulatedFrame[];
  reference: ReadonlyMap<string, MeasuredFrame>;
  /** `<shoot id> <frame>` -> how often a service said that it stored the measurement. */
  stored: ReadonlyMap<string, number>;
}

const UPLOADS_AT_ONCE = 6;
const STRIKES = 3;
const LIMIT_MS = 15 * 60_000;
/** Up to so long after a moment of the run's own is struck. */
const JITTER_MS = 150;

const withoutTiming = (measurement: FrameMeasurement): FrameMeasurement =>
  FrameMeasurement.parse({ ...(JSON.parse(JSON.stringify(measurement)) as FrameMeasurement), timing: {} });

/** Keys that speak of a shoot's jobs, looked at until they are gone or time is over. */
async function leftInRedis(cluster: Cluster, shootId: string): Promise<number> {
  const client = new Redis(cluster.redisUrl, { maxRetriesPerRequest: null });
  client.on('error', () => undefined);
  try {
    const endsAt = performance.now() + 40_000;
    for (;;) {
      const left =
        (await client.exists(`stopledger:shoot:${shootId}`)) + (await client.keys('stopledger:result:*')).length;
      if (left === 0 || performance.now() > endsAt) return left;
      await delay(200);
    }
  } finally {
    client.disconnect();
  }
}

/** One shoot sent and measured while parts of the cluster are killed at instants that the seed decides. */
export async function crashRun(scenario: Scenario, parts: CrashParts, seed: number, run: number): Promise<CrashRun> {
  const { cluster, power, frames, reference, stored } = parts;
  const random = seededRandom(`${seed} ${scenario} ${run}`);
  const startedAt = performance.now();
  const refused: Record<string, number> = {};
  const client = new ShootClient({
    urls: cluster.apis.map(({ url }) => url),
    headers: cluster.headers,
    limitMs: LIMIT_MS,
    onRefused: (what) => {
      refused[what] = (refused[what] ?? 0) + 1;
    },
  });
  await client.create();
  const acknowledged = new Set<string>();
  const sending = inParallel(frames, UPLOADS_AT_ONCE, async (frame) => {
    await client.put(frame);
    acknowledged.add(frame.name);
  });

  const measured = (): number => frames.filter(({ name }) => stored.has(`${client.id} ${name}`)).length;
  const instants = Array.from({ length: STRIKES }, () => Math.floor(random.uniform() * frames.length * 1.97));
  const strikes: string[] = [];
  const striking = (async () => {
    for (const instant of instants.sort((a, b) => a - b)) {
      while (acknowledged.size + measured() < instant && performance.now() - startedAt < LIMIT_MS) await delay(5);
      await delay(random.uniform() * JITTER_MS);
      const at = `${acknowledged.size}+${measured()}`;
      strikes.push(`${await strike(scenario, cluster, power, random)} at ${at}`);
    }
  })();
  await Promise.all([sending, striking]);

  await client.complete();
  const { report } = await client.report();
  const inReport = new Map<string, number>();
  for (const { name } of report.frames) inReport.set(name, (inReport.get(name) ?? 0) + 1);
  const unreadable = new Set(report.frames.filter(({ verdict }) => verdict === 'unreadable').map(({ name }) => name));
  const isLost = (name: string): boolean => !inReport.has(name) || unreadable.has(name);
  const isDouble = (name: string): boolean =>
    (inReport.get(name) ?? 0) > 1 || (stored.get(`${client.id} ${name}`) ?? 0) > 1;
  let wrong = 0;
  await inParallel(
    frames.filter(({ name }) => !isLost(name)),
    UPLOADS_AT_ONCE,
    async ({ name }) => {
      const truth = reference.get(name);
      const same =
        truth !== undefined &&
        isDeepStrictEqual(withoutTiming(await client.measurement(name)), withoutTiming(truth.measurement)) &&
        (await client.picture(name, 'preview')).equals(Buffer.from(truth.products.previewJpeg));
      if (!same) wrong += 1;
    },
  );
  const left = await leftInRedis(cluster, client.id);
  const seconds = (performance.now() - startedAt) / 1000;
  const names = [...acknowledged];
  const result = { run, strikes, acknowledged: names.length, lost: names.filter(isLost).length, double: names.filter(isDouble).length, wrong, left, refused, seconds }; // prettier-ignore
  await client.delete();
  return result;
}
