import type { MeasuredFrame } from '../../src/contracts/jobs.js';
import { WORKER_ENTRY } from '../support/processes.js';
import { FIXTURE_PROCESS } from '../support/service.js';
import { openSmallDisk } from '../support/small-disk.js';
import type { CheckParts } from './check-shoot.js';
import { type ClusterOptions, startCluster } from './cluster.js';
import { type CrashRun, crashRun } from './crash-run.js';
import type { LogLine } from './member.js';
import { type Outage, type OutageRun, SMALL_DISK, outageRun } from './outages.js';
import { PowerCut } from './power-cut.js';
import { referenceOf } from './reference.js';
import { type SimulatedFrame, simulatedFrames } from './simulated-frames.js';
import type { Scenario } from './strikes.js';

/**
 * In place of the presets, so that a run takes seconds: a dead worker's lock lasts 17.5 s instead of 155 and is noticed
 * within two looks 8.75 s apart, and a frame may be in the hands of five workers that die instead of three.
 */
export const SHORT_LOCKS = {
  FRAME_TIMEOUT_SECONDS: '10',
  FRAME_MAX_ATTEMPTS: '5',
  SHUTDOWN_SECONDS: '5',
} as const;

export interface RunOptions {
  seed: number;
  frames: number;
  from: ClusterOptions['from'];
  /**
   * `real`, or `blank`: the tests' measuring process, which says only of which bytes it is and takes no time, so that
   * more instants between all the rest are hit in a minute.
   */
  measuring: 'real' | 'blank';
}

interface Prepared {
  frames: readonly SimulatedFrame[];
  reference: ReadonlyMap<string, MeasuredFrame>;
}

async function prepare({ frames: count, seed, measuring }: RunOptions): Promise<Prepared> {
  const frames = await simulatedFrames({ frames: count, seed: `crash ${seed}`, widthPx: 240, wholeEvery: 10 });
  return { frames, reference: await referenceOf(frames, measuring === 'blank' ? FIXTURE_PROCESS : undefined) };
}

/** Two services and three workers that are counted on, for as long as `work` takes. */
async function inCluster<T>(
  options: RunOptions,
  prepared: Prepared,
  more: Pick<ClusterOptions, 'redisArgs' | 'dataDir'>,
  work: (parts: CheckParts) => Promise<T>,
): Promise<T> {
  const stored = new Map<string, number>();
  const count = (_member: string, { msg, shootId, frameName }: LogLine): void => {
    if (msg !== 'frame measured') return;
    const key = `${String(shootId)} ${String(frameName)}`;
    stored.set(key, (stored.get(key) ?? 0) + 1);
  };
  const cluster = await startCluster({
    apis: 2,
    workers: 3,
    from: options.from,
    ...more,
    ...(options.measuring === 'blank' ? { workerEntry: WORKER_ENTRY } : {}),
    environment: SHORT_LOCKS,
    workerEnvironment: { WORKERS: '1' },
    onLine: count,
  });
  try {
    return await work({ cluster, ...prepared, stored });
  } finally {
    await cluster.stop();
  }
}

/** Every scenario in a cluster of its own; each run is a shoot, sent and measured while parts of it are killed. */
export async function crashRuns(
  options: RunOptions & { runs: number; scenarios: readonly Scenario[] },
  onRun: (scenario: Scenario, run: CrashRun) => void = () => undefined,
): Promise<Map<Scenario, CrashRun[]>> {
  const results = new Map<Scenario, CrashRun[]>();
  if (options.scenarios.length === 0) return results;
  const prepared = await prepare(options);
  for (const scenario of options.scenarios) {
    const redisArgs = scenario === 'redis-always' ? ['--appendfsync', 'always'] : [];
    const runs = await inCluster(options, prepared, { redisArgs }, async (parts) => {
      const power = new PowerCut(parts.cluster.redis);
      const done: CrashRun[] = [];
      for (let run = 1; run <= options.runs; run += 1) {
        const one = await crashRun(scenario, { ...parts, power }, options.seed, run);
        done.push(one);
        onRun(scenario, one);
      }
      power.end();
      return done;
    });
    results.set(scenario, runs);
  }
  return results;
}

/** Every outage once, each in a cluster of its own. */
export async function outageRuns(
  options: RunOptions & { outages: readonly Outage[]; awaySeconds: number },
  onRun: (outage: Outage, run: OutageRun) => void = () => undefined,
): Promise<Map<Outage, OutageRun>> {
  const results = new Map<Outage, OutageRun>();
  if (options.outages.length === 0) return results;
  const prepared = await prepare(options);
  for (const outage of options.outages) {
    const disk = outage === 'disk-full' ? openSmallDisk(SMALL_DISK) : null;
    try {
      const dataDir = disk === null ? {} : { dataDir: disk.folder };
      const run = await inCluster(options, prepared, dataDir, (parts) => outageRun(outage, parts, options.awaySeconds, disk)); // prettier-ignore
      results.set(outage, run);
      onRun(outage, run);
    } finally {
      await disk?.remove();
    }
  }
  return results;
}
