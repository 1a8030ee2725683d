import { existsSync, mkdirSync } from 'node:fs';
import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as delay } from 'node:timers/promises';
import { parseArgs } from 'node:util';
import { seededRandom } from '../../samples/make/random.js';
import { member } from '../cluster/member.js';
import { simulatedFrames } from '../cluster/simulated-frames.js';
import { type Usage, childrenOf, usageOf } from './usage.js';
import { newTally, visit } from './visitor.js';

/**
 * `npm run soak -- --minutes 15`: the built service under a mixed load with faults, and whether what it holds stays flat.
 * Visitors send good and damaged frames, break off, watch, read and delete; every so often a measuring process is killed.
 */
const { values } = parseArgs({
  options: { minutes: { type: 'string', default: '15' }, seed: { type: 'string', default: '1' } },
});
const minutes = Number(values.minutes);
const VISITORS = 3;
const LOOK_EVERY_MS = 10_000;
const KILL_EVERY_MS = 17_000;
/** The first part is left out: memory rises until caches are full. */
const WARM_SHARE = 0.25;
/** What is held in the last quarter may be more than in the quarter before the middle by this much. Ours. */
const FLAT = { memory: 1.15, descriptors: 8, processes: 2 } as const;

if (!existsSync('dist/src/main.js')) throw new Error('dist/ is not there: npm run build');
const folder = await mkdtemp(join(tmpdir(), 'stopledger-soak-'));
const folders = [join(folder, 'data'), join(folder, 'tmp')];
for (const one of folders) mkdirSync(one);
const service = member({
  name: 'service',
  from: 'dist',
  readyMessage: 'listening',
  logFile: join(folder, 'service.log'),
  command: {
    program: 'node',
    args: ['dist/src/main.js'],
    environment: { PORT: '0', DATA_DIR: folders[0] ?? '', TMPDIR: folders[1] ?? '', WORKERS: '2', CALIBRATIONS: join(folder, 'none'), LOG_LEVEL: 'info' }, // prettier-ignore
  },
});

const middle = (numbers: readonly number[]): number => [...numbers].sort((a, b) => a - b)[numbers.length >> 1] ?? 0;

/** What rose from one quarter to another. */
function risen(before: readonly Usage[], after: readonly Usage[]): string[] {
  const found: string[] = [];
  for (const what of ['serviceMiB', 'measuringMiB', 'descriptors', 'processes'] as const) {
    const [was, is] = [middle(before.map((u) => u[what])), middle(after.map((u) => u[what]))];
    const most = what.endsWith('MiB') ? was * FLAT.memory : was + FLAT[what as 'descriptors' | 'processes'];
    if (is > most) found.push(`${what} ${was.toFixed(0)} -> ${is.toFixed(0)}`);
  }
  return found;
}

let status = 1;
try {
  const [{ url }, good] = await Promise.all([
    service.start() as Promise<{ url: string } & Record<string, unknown>>,
    simulatedFrames({ frames: 40, seed: `soak ${values.seed}`, widthPx: 640, wholeEvery: 2 }),
  ]);
  const pid = service.pid() ?? 0;
  const startedAt = performance.now();
  const endsAt = startedAt + minutes * 60_000;
  const running = (): boolean => performance.now() < endsAt;
  const fresh = usageOf(pid, folders, 0);
  const tally = newTally();
  const usages: Usage[] = [];
  let killed = 0;

  const visitors = Array.from({ length: VISITORS }, async (_, n) => {
    const random = seededRandom(`soak ${values.seed} visitor ${n}`);
    while (running()) await visit({ url, random, good, tally });
  });
  const killer = (async () => {
    const random = seededRandom(`soak ${values.seed} killer`);
    while (running()) {
      await delay(Math.min(KILL_EVERY_MS, Math.max(0, endsAt - performance.now())));
      const children = childrenOf(pid);
      const victim = children[Math.floor(random.uniform() * children.length)];
      if (victim === undefined || !running()) continue;
      process.kill(victim, 'SIGKILL');
      killed += 1;
    }
  })();
  const looking = (async () => {
    while (running()) {
      await delay(Math.min(LOOK_EVERY_MS, Math.max(0, endsAt - performance.now())));
      usages.push(usageOf(pid, folders, (performance.now() - startedAt) / 1000));
    }
  })();
  await Promise.all([...visitors, killer, looking]);
  const left = usageOf(pid, folders, (performance.now() - startedAt) / 1000);

  console.log(`${minutes} minutes, seed ${values.seed}: ${tally.shoots} shoots, ${tally.frames} frames, ${tally.damaged} damaged, ${tally.brokenOff} uploads broken off, ${killed} measuring processes killed, ${(tally.bytes / 1024 ** 2).toFixed(0)} MiB read`); // prettier-ignore
  console.log('\n| minute | service MiB | measuring MiB | descriptors | processes | files |');
  console.log('| --- | --- | --- | --- | --- | --- |');
  const step = Math.max(1, Math.floor(usages.length / 12));
  for (const [index, u] of [...usages.entries(), [-1, left] as const]) {
    if (index !== -1 && index % step !== 0) continue;
    const minute = index === -1 ? 'end' : (u.atSeconds / 60).toFixed(1);
    console.log(`| ${minute} | ${u.serviceMiB.toFixed(0)} | ${u.measuringMiB.toFixed(0)} | ${u.descriptors} | ${u.processes} | ${u.files} |`); // prettier-ignore
  }
  const quarter = (from: number): Usage[] =>
    usages.slice(Math.floor(from * usages.length), Math.floor((from + 0.25) * usages.length));
  const faults = [...tally.wrong.slice(0, 10), ...risen(quarter(WARM_SHARE), quarter(0.75))];
  // Every shoot was deleted: only the records' own files are left, as before the first.
  if (left.files > fresh.files) faults.push(`${left.files} files are left, ${fresh.files} were there before`);
  console.log(faults.length === 0 ? '\nflat; nothing left behind, no wrong answer' : `\n${faults.join('\n')}`);
  status = faults.length === 0 ? 0 : 1;
} finally {
  await service.kill('SIGTERM');
  if (status === 0) await rm(folder, { recursive: true, force: true });
  else console.log(`kept: ${folder}`);
}
process.exitCode = status;
