import { createHash } from 'node:crypto';
import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pino } from 'pino';
import { readConfig } from '../../src/config.js';
import { startService } from '../../src/main.js';
import { startS3 } from '../support/s3-server.js';
import { type Cluster, type ClusterOptions, startCluster } from './cluster.js';
import { ShootClient, type ShootClientOptions, inParallel } from './shoot-client.js';
import type { SimulatedFrame } from './simulated-frames.js';

/** Everything that a service says of a shoot; the shoot's id and how long measuring took are left out. */
export interface Answer {
  /** The bytes of report.json. */
  report: string;
  /** `frame what` -> its bytes, or their SHA-256 for a picture. */
  parts: ReadonlyMap<string, string>;
  frames: number;
  seconds: number;
}

const UPLOADS_AT_ONCE = 4;
const LIMIT_MS = 20 * 60_000;

const sha256Of = (bytes: Buffer): string => createHash('sha256').update(bytes).digest('hex');

/** Sends a shoot to the services, waits for its report and asks for everything there is of it. */
export async function answerOf(
  services: Pick<ShootClientOptions, 'urls' | 'headers'>,
  frames: readonly SimulatedFrame[],
  plan: unknown,
): Promise<Answer> {
  const startedAt = performance.now();
  const client = new ShootClient({ ...services, limitMs: LIMIT_MS });
  await client.create(plan);
  await inParallel(frames, UPLOADS_AT_ONCE, async (frame) => {
    await client.put(frame);
  });
  await client.complete();
  const { report, text } = await client.report();
  const seconds = (performance.now() - startedAt) / 1000;
  const parts = new Map<string, string>();
  for (const { name } of report.frames) {
    // As it came, but for the time that it took.
    parts.set(`${name} measurement`, JSON.stringify({ ...(await client.measurement(name)), timing: {} }));
    for (const what of ['preview', 'overlay'] as const) parts.set(`${name} ${what}`, sha256Of(await client.picture(name, what))); // prettier-ignore
  }
  return { report: text.replaceAll(client.id, 'SHOOT'), parts, frames: report.frames.length, seconds };
}

/** In what two answers differ; empty when every byte is the same. */
export function differences(one: Answer, other: Answer): string[] {
  const found = one.report === other.report ? [] : ['report.json'];
  for (const key of new Set([...one.parts.keys(), ...other.parts.keys()])) {
    if (one.parts.get(key) !== other.parts.get(key)) found.push(key);
  }
  return found;
}

/** The service alone: one process and its measuring processes, SQLite, a folder. */
export async function embeddedAnswer(frames: readonly SimulatedFrame[], plan: unknown): Promise<Answer> {
  const folder = await mkdtemp(join(tmpdir(), 'stopledger-embedded-'));
  const config = readConfig({ PORT: '0', DATA_DIR: folder, WORKERS: '2', CALIBRATIONS: join(folder, 'none') });
  const service = await startService(config, { log: pino({ level: 'silent' }) });
  try {
    return await answerOf({ urls: [service.url] }, frames, plan);
  } finally {
    await service.close();
    await rm(folder, { recursive: true, force: true });
  }
}

type Difference = Pick<ClusterOptions, 'apis' | 'environment' | 'workerEnvironment'>;

/** Ways past one machine: what stands between the service and its three workers. */
export const VARIANTS = {
  'Redis, SQLite, one folder': { apis: 1, environment: { DATABASE_URL: '' } },
  'Redis, PostgreSQL, one folder': { apis: 2 },
  'Redis, PostgreSQL, a bucket': { apis: 2, environment: { FRAME_FILES: 'bucket', S3_PREFIX: 'same/' } },
} as const satisfies Record<string, Difference>;
export type Variant = keyof typeof VARIANTS;

/** A cluster of that variant, with a server of the bucket's protocol where it needs one. */
export async function startVariant(variant: Variant, from: ClusterOptions['from']): Promise<Cluster> {
  const difference: Difference = VARIANTS[variant];
  const s3 = difference.environment?.FRAME_FILES === 'bucket' ? await startS3() : null;
  const address = s3?.newAddress();
  const bucket: Record<string, string> =
    address === undefined
      ? {}
      : {
          S3_BUCKET: address.bucket,
          S3_ENDPOINT: address.endpoint,
          S3_REGION: address.region,
          S3_ACCESS_KEY_ID: address.accessKeyId,
          S3_SECRET_ACCESS_KEY: address.secretAccessKey,
        };
  const environment = { ...difference.environment, ...bucket };
  const cluster = await startCluster({ ...difference, workers: 3, from, workerEnvironment: { WORKERS: '1' }, environment }); // prettier-ignore
  return {
    ...cluster,
    async stop() {
      await cluster.stop();
      await s3?.remove();
    },
  };
}
