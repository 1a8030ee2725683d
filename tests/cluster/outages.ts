import { setTimeout as delay } from 'node:timers/promises';
import { openSmallDisk } from '../support/small-disk.js';
import { type Checked, type CheckParts, checkShoot } from './check-shoot.js';
import { ShootClient, inParallel } from './shoot-client.js';

export const OUTAGES = ['redis-away', 'redis-hangs', 'disk-full'] as const;
export type Outage = (typeof OUTAGES)[number];

export const ABOUT_OUTAGE: Record<Outage, string> = {
  'redis-away': 'Redis gone',
  'redis-hangs': 'Redis stopped (SIGSTOP): connected and silent',
  'disk-full': 'the disk of the frames full',
};

/** Too little for the shoot: a frame and its pictures take three pages of 4 KiB at least. */
export const SMALL_DISK = '700k';
const LARGE_DISK = '256m';

export interface OutageRun extends Checked {
  awaySeconds: number;
  /** Answers while it was away, by kind. */
  answers: Record<string, number>;
  /** What /readyz said was missing meanwhile. */
  readyz: string;
  /** From the end of the outage to the first measurement after it, and to the last. */
  resumedSeconds: { first: number; last: number };
}

const UPLOADS_AT_ONCE = 4;
const LIMIT_MS = 10 * 60_000;

type Disk = ReturnType<typeof openSmallDisk>;

async function begin(outage: Outage, { cluster }: CheckParts): Promise<void> {
  if (outage === 'redis-away') await cluster.redis.stop('SIGKILL');
  if (outage === 'redis-hangs') process.kill(cluster.redis.pid() ?? 0, 'SIGSTOP');
}

async function end(outage: Outage, { cluster }: CheckParts, disk: Disk | null): Promise<void> {
  if (outage === 'redis-away') await cluster.redis.restart();
  if (outage === 'redis-hangs') process.kill(cluster.redis.pid() ?? 0, 'SIGCONT');
  disk?.grow(LARGE_DISK);
}

/** A shoot that is sent while something it needs is away for a while and comes back by itself. */
export async function outageRun(
  outage: Outage,
  parts: CheckParts,
  awaySeconds: number,
  disk: Disk | null,
): Promise<OutageRun> {
  const { cluster, frames, stored } = parts;
  const answers: Record<string, number> = {};
  const note = (what: string): void => {
    answers[what] = (answers[what] ?? 0) + 1;
  };
  const client = new ShootClient({ urls: cluster.apis.map(({ url }) => url), headers: cluster.headers, limitMs: LIMIT_MS, onRefused: note }); // prettier-ignore
  await client.create();
  const acknowledged = new Set<string>();
  const put = async (frame: (typeof frames)[number]): Promise<void> => {
    note((await client.put(frame)) ? '200' : '201');
    acknowledged.add(frame.name);
  };
  const measured = (): number => frames.filter(({ name }) => stored.has(`${client.id} ${name}`)).length;
  // A disk fills by what is sent, everything else is taken away in the middle.
  const early = outage === 'disk-full' ? [] : frames.slice(0, Math.floor(frames.length / 3));
  await inParallel(early, UPLOADS_AT_ONCE, put);
  await begin(outage, parts);
  for (const what of Object.keys(answers)) delete answers[what];
  const sending = inParallel(frames.slice(early.length), UPLOADS_AT_ONCE, put);
  await delay(awaySeconds * 1000);
  const ready = (await (await fetch(`${cluster.apis[0]?.url}/readyz`)).json()) as { missing?: string[] };
  const told = { ...answers };
  const before = measured();
  await end(outage, parts, disk);
  const endedAt = performance.now();
  const since = (): number => (performance.now() - endedAt) / 1000;
  while (measured() === before && since() * 1000 < LIMIT_MS) await delay(20);
  const first = since();
  await sending;
  while (measured() < frames.length && since() * 1000 < LIMIT_MS) await delay(20);
  const resumedSeconds = { first, last: since() };
  const checked = await checkShoot(client, parts, acknowledged);
  await client.delete();
  return { ...checked, awaySeconds, answers: told, readyz: (ready.missing ?? []).join(', '), resumedSeconds };
}
