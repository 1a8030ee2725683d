import { parseArgs } from 'node:util';
import { type Cluster, startCluster, whatIsMissing } from './cluster.js';
import { type CrashRun, crashRun } from './crash-run.js';
import { WORKER_ENTRY } from '../support/processes.js';
import { FIXTURE_PROCESS } from '../support/service.js';
import type { LogLine } from './member.js';
import { PowerCut } from './power-cut.js';
import { referenceOf } from './reference.js';
import { simulatedFrames } from './simulated-frames.js';
import { ABOUT, SCENARIOS, type Scenario } from './strikes.js';

/**
 * In place of the presets, so that a run takes seconds: a dead worker's lock lasts 17.5 s instead of 155 and is noticed
 * within two looks 8.75 s apart, and a frame may be in the hands of five workers that die instead of three.
 */
export const SHORT_LOCKS = {
  FRAME_TIMEOUT_SECONDS: '10',
  FRAME_MAX_ATTEMPTS: '5',
  SHUTDOWN_SECONDS: '5',
} as const;

export interface CrashOptions {
  scenarios: readonly Scenario[];
  runs: number;
  seed: number;
  frames: number;
  from: 'dist' | 'source';
  /**
   * `real`, or `blank`: the tests' measuring process, which says only of which bytes it is and takes no time, so that
   * more instants between all the rest are hit in a minute.
   */
  measuring: 'real' | 'blank';
  onRun?: (scenario: Scenario, run: CrashRun) => void;
}

/** Runs every scenario in a cluster of its own; each run is a shoot, sent and measured while parts of it are killed. */
export async function crashRuns(options: CrashOptions): Promise<Map<Scenario, CrashRun[]>> {
  const frames = await simulatedFrames({ frames: options.frames, seed: `crash ${options.seed}`, widthPx: 240, wholeEvery: 10 }); // prettier-ignore
  const blank = options.measuring === 'blank';
  const reference = await referenceOf(frames, blank ? FIXTURE_PROCESS : undefined);
  const results = new Map<Scenario, CrashRun[]>();
  for (const scenario of options.scenarios) {
    const stored = new Map<string, number>();
    const count = (_member: string, { msg, shootId, frameName }: LogLine): void => {
      if (msg !== 'frame measured') return;
      const key = `${String(shootId)} ${String(frameName)}`;
      stored.set(key, (stored.get(key) ?? 0) + 1);
    };
    const cluster: Cluster = await startCluster({
      apis: 2,
      workers: 3,
      from: options.from,
      redisArgs: scenario === 'redis-always' ? ['--appendfsync', 'always'] : [],
      ...(blank ? { workerEntry: WORKER_ENTRY } : {}),
      environment: SHORT_LOCKS,
      workerEnvironment: { WORKERS: '1' },
      onLine: count,
    });
    const power = new PowerCut(cluster.redis);
    const runs: CrashRun[] = [];
    try {
      for (let run = 1; run <= options.runs; run += 1) {
        const done = await crashRun(scenario, { cluster, power, frames, reference, stored }, options.seed, run);
        runs.push(done);
        options.onRun?.(scenario, done);
      }
    } finally {
      power.end();
      await cluster.stop();
    }
    results.set(scenario, runs);
  }
  return results;
}

const sumOf = (runs: readonly CrashRun[], what: (run: CrashRun) => number): number =>
  runs.reduce((sum, run) => sum + what(run), 0);

/** One line a scenario, as it stands in DEVELOPERS.md. */
export function crashTable(results: ReadonlyMap<Scenario, readonly CrashRun[]>): string {
  const lines = ['| killed | runs | kills | acknowledged | lost | double | wrong | keys left | seconds a run, median and most |', '| --- | --- | --- | --- | --- | --- | --- | --- | --- |']; // prettier-ignore
  for (const [scenario, runs] of results) {
    const seconds = runs.map((run) => run.seconds).sort((a, b) => a - b);
    const sums = [(run: CrashRun) => run.strikes.length, (run: CrashRun) => run.acknowledged, (run: CrashRun) => run.lost, (run: CrashRun) => run.double, (run: CrashRun) => run.wrong, (run: CrashRun) => run.left].map((what) => sumOf(runs, what)); // prettier-ignore
    const [median, most] = [seconds[Math.floor(seconds.length / 2)] ?? NaN, seconds.at(-1) ?? NaN];
    lines.push(
      `| ${ABOUT[scenario]} | ${runs.length} | ${sums.join(' | ')} | ${median.toFixed(0)}, ${most.toFixed(0)} |`,
    );
  }
  return lines.join('\n');
}

export const isClean = ({ acknowledged, lost, double, wrong, left }: CrashRun, frames: number): boolean =>
  acknowledged === frames && lost + double + wrong + left === 0;

function lineOf(scenario: Scenario, run: CrashRun): string {
  const refused = Object.entries(run.refused).map(([what, times]) => `${what} ×${times}`).join(', '); // prettier-ignore
  return `${scenario} ${run.run}: ${run.strikes.join('; ')}; ${run.acknowledged} acknowledged, ${run.lost} lost, ${run.double} double, ${run.wrong} wrong, ${run.left} keys left, ${run.seconds.toFixed(1)} s${refused === '' ? '' : `; refused: ${refused}`}`; // prettier-ignore
}

/** `npm run crash`: see `--help`. */
async function main(): Promise<void> {
  const { values } = parseArgs({
    options: {
      runs: { type: 'string', default: '20' },
      seed: { type: 'string', default: '1' },
      frames: { type: 'string', default: '300' },
      only: { type: 'string', default: SCENARIOS.join(',') },
      real: { type: 'boolean', default: false },
      help: { type: 'boolean', default: false },
    },
  });
  if (values.help) {
    console.log(`npm run crash -- [--runs N] [--seed S] [--frames F] [--real] [--only ${SCENARIOS.join(',')}]`);
    return;
  }
  const missing = whatIsMissing();
  if (missing.length > 0) {
    console.error(`The crash runs cannot be made here:\n${missing.join('\n')}`);
    process.exitCode = 1;
    return;
  }
  const [runs, seed, frames] = [values.runs, values.seed, values.frames].map(Number) as [number, number, number];
  const scenarios = SCENARIOS.filter((name) => values.only.split(',').includes(name));
  const presets = Object.entries(SHORT_LOCKS).map(([name, value]) => `${name}=${value}`).join(' '); // prettier-ignore
  console.log(
    `${runs} runs each, seed ${seed}, ${frames} small frames, ${values.real ? 'really measured' : 'blank measurements (--real measures)'}, 2 services, 3 workers; ${presets}`,
  );
  const onRun = (scenario: Scenario, run: CrashRun): void => {
    console.log(lineOf(scenario, run));
  };
  const results = await crashRuns({ scenarios, runs, seed, frames, from: 'dist', measuring: values.real ? 'real' : 'blank', onRun }); // prettier-ignore
  console.log(`\n${crashTable(results)}`);
  if (![...results.values()].flat().every((run) => isClean(run, frames))) process.exitCode = 1;
}

if (process.argv[1]?.endsWith('crash.ts') === true) {
  for (const signal of ['SIGINT', 'SIGTERM'] as const) process.once(signal, () => process.exit(1));
  await main();
}
