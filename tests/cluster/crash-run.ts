import { setTimeout as delay } from 'node:timers/promises';
import { seededRandom } from '../../samples/make/random.js';
import { type Checked, type CheckParts, checkShoot } from './check-shoot.js';
import type { PowerCut } from './power-cut.js';
import { ShootClient, inParallel } from './shoot-client.js';
import { type Scenario, strike } from './strikes.js';

export interface CrashRun extends Checked {
  run: number;
  /** What was killed, and after how many of all uploads and measurements. */
  strikes: string[];
  /** Answers that the client did not hope for, by kind. */
  refused: Record<string, number>;
  seconds: number;
}

const UPLOADS_AT_ONCE = 6;
const STRIKES = 3;
const LIMIT_MS = 15 * 60_000;
/** Up to so long after a moment of the run's own is struck. */
const JITTER_MS = 150;
/** Instants are spread over this share of all uploads and measurements: after the last there is nothing to disturb. */
const STRUCK_SHARE = 0.985;

/** One shoot sent and measured while parts of the cluster are killed at instants that the seed decides. */
export async function crashRun(
  scenario: Scenario,
  parts: CheckParts & { power: PowerCut },
  seed: number,
  run: number,
): Promise<CrashRun> {
  const { cluster, power, frames, stored } = parts;
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
  const last = Math.floor(2 * frames.length * STRUCK_SHARE);
  const instants = Array.from({ length: STRIKES }, () => Math.floor(random.uniform() * last));
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
  const checked = await checkShoot(client, parts, acknowledged);
  const seconds = (performance.now() - startedAt) / 1000;
  await client.delete();
  return { ...checked, run, strikes, refused, seconds };
}
