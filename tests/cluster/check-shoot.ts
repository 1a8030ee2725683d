import { isDeepStrictEqual } from 'node:util';
import { setTimeout as delay } from 'node:timers/promises';
import { Redis } from 'ioredis';
import type { MeasuredFrame } from '../../src/contracts/jobs.js';
import { FrameMeasurement } from '../../src/contracts/measurement.js';
import type { Cluster } from './cluster.js';
import { type ShootClient, inParallel } from './shoot-client.js';
import type { SimulatedFrame } from './simulated-frames.js';

/** What became of a shoot that went through a cluster; every number but the first should be 0. */
export interface Checked {
  acknowledged: number;
  /** Acknowledged and not measured in the end. */
  lost: number;
  /** Twice in the report, or stored twice. */
  double: number;
  /** Measured other than the reference, or with another picture. */
  wrong: number;
  /** Keys of the shoot that stay in Redis. */
  left: number;
}

export interface CheckParts {
  cluster: Cluster;
  frames: readonly SimulatedFrame[];
  reference: ReadonlyMap<string, MeasuredFrame>;
  /** `<shoot id> <frame>` -> how often a service said that it stored the measurement. */
  stored: ReadonlyMap<string, number>;
}

const REQUESTS_AT_ONCE = 6;
/** A job that came back from the past as running is taken for stalled first, and then measured again. */
const LEFT_LIMIT_MS = 180_000;

/** Without what a measurement is told about itself: how long it took and with which libraries. */
const measuredOf = (measurement: FrameMeasurement): FrameMeasurement =>
  FrameMeasurement.parse({ ...(JSON.parse(JSON.stringify(measurement)) as FrameMeasurement), timing: {}, measuredWith: undefined }); // prettier-ignore

/** Keys that speak of a shoot's jobs, looked at until they are gone or time is over. */
async function leftInRedis(cluster: Cluster, shootId: string): Promise<number> {
  const client = new Redis(cluster.redisUrl, { maxRetriesPerRequest: null });
  client.on('error', () => undefined);
  try {
    const endsAt = performance.now() + LEFT_LIMIT_MS;
    for (;;) {
      const results = await client.keys('stopledger:result:*');
      const left = results.length + (await client.exists(`stopledger:shoot:${shootId}`));
      if (left === 0 || performance.now() > endsAt) return left;
      await delay(200);
    }
  } finally {
    client.disconnect();
  }
}

/** Completes the shoot, waits for its report and holds every acknowledged frame against the reference. */
export async function checkShoot(
  client: ShootClient,
  { cluster, frames, reference, stored }: CheckParts,
  acknowledged: ReadonlySet<string>,
): Promise<Checked> {
  await client.complete();
  const { report } = await client.report();
  const inReport = new Map<string, number>();
  for (const { name } of report.frames) inReport.set(name, (inReport.get(name) ?? 0) + 1);
  const unreadable = new Set(report.frames.filter(({ verdict }) => verdict === 'unreadable').map(({ name }) => name));
  const isLost = (name: string): boolean => !inReport.has(name) || unreadable.has(name);
  const isDouble = (name: string): boolean =>
    (inReport.get(name) ?? 0) > 1 || (stored.get(`${client.id} ${name}`) ?? 0) > 1;
  const found = frames.filter(({ name }) => !isLost(name));
  let wrong = 0;
  await inParallel(found, REQUESTS_AT_ONCE, async ({ name }) => {
    const truth = reference.get(name);
    const same =
      truth !== undefined &&
      isDeepStrictEqual(measuredOf(await client.measurement(name)), measuredOf(truth.measurement)) &&
      (await client.picture(name, 'preview')).equals(Buffer.from(truth.products.previewJpeg));
    if (!same) wrong += 1;
  });
  const names = [...acknowledged];
  const left = await leftInRedis(cluster, client.id);
  return {
    acknowledged: names.length,
    lost: names.filter(isLost).length,
    double: names.filter(isDouble).length,
    wrong,
    left,
  };
}
