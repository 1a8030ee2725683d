import { parseArgs } from 'node:util';
import { CAN_MOUNT } from '../support/small-disk.js';
import type { Checked } from './check-shoot.js';
import { stopClustersOnSignal, whatIsMissing } from './cluster.js';
import type { CrashRun } from './crash-run.js';
import { SHORT_LOCKS, crashRuns, outageRuns } from './crash-runs.js';
import { ABOUT_OUTAGE, OUTAGES, type Outage, type OutageRun } from './outages.js';
import { ABOUT, SCENARIOS, type Scenario } from './strikes.js';

const AWAY_SECONDS = 30;

const CHECKED = ['acknowledged', 'lost', 'double', 'wrong', 'left'] as const;

const sumOf = (runs: readonly CrashRun[], what: (run: CrashRun) => number): number =>
  runs.reduce((sum, run) => sum + what(run), 0);

const kinds = (counts: Readonly<Record<string, number>>): string =>
  Object.entries(counts).map(([what, times]) => `${what} ×${times}`).join(', '); // prettier-ignore

const checkedLine = (checked: Checked): string =>
  `${checked.acknowledged} acknowledged, ${checked.lost} lost, ${checked.double} double, ${checked.wrong} wrong, ${checked.left} keys left`;

function crashLine(scenario: Scenario, run: CrashRun): string {
  const refused = kinds(run.refused);
  return `${scenario} ${run.run}: ${run.strikes.join('; ')}; ${checkedLine(run)}, ${run.seconds.toFixed(1)} s${refused === '' ? '' : `; refused: ${refused}`}`;
}

function outageLine(outage: Outage, run: OutageRun): string {
  const { first, last } = run.resumedSeconds;
  return `${ABOUT_OUTAGE[outage]} for ${run.awaySeconds} s: readyz misses ${run.readyz}; answers ${kinds(run.answers)}; back at work ${first.toFixed(1)} s after it, done after ${last.toFixed(1)} s; ${checkedLine(run)}`; // prettier-ignore
}

/** One line a scenario, as it stands in DEVELOPERS.md. */
function crashTable(results: ReadonlyMap<Scenario, readonly CrashRun[]>): string {
  const lines = ['| killed | runs | kills | acknowledged | lost | double | wrong | keys left | seconds a run, median and most |', '| --- | --- | --- | --- | --- | --- | --- | --- | --- |']; // prettier-ignore
  for (const [scenario, runs] of results) {
    const seconds = runs.map((run) => run.seconds).sort((a, b) => a - b);
    const kills = sumOf(runs, ({ strikes }) => strikes.length);
    const sums = CHECKED.map((what) => sumOf(runs, (run) => run[what]));
    const [median, most] = [seconds[Math.floor(seconds.length / 2)] ?? NaN, seconds.at(-1) ?? NaN];
    lines.push(`| ${ABOUT[scenario]} | ${runs.length} | ${kills} | ${sums.join(' | ')} | ${median.toFixed(0)}, ${most.toFixed(0)} |`); // prettier-ignore
  }
  return lines.join('\n');
}

const isClean = ({ acknowledged, lost, double, wrong, left }: Checked, frames: number): boolean =>
  acknowledged === frames && lost + double + wrong + left === 0;

const { values } = parseArgs({
  options: {
    runs: { type: 'string', default: '20' },
    seed: { type: 'string', default: '1' },
    frames: { type: 'string', default: '300' },
    only: { type: 'string', default: [...SCENARIOS, ...OUTAGES].join(',') },
    real: { type: 'boolean', default: false },
    help: { type: 'boolean', default: false },
  },
});

/** `npm run crash`: see `--help`. */
async function main(): Promise<void> {
  const missing = whatIsMissing();
  if (missing.length > 0) throw new Error(`the crash runs cannot be made here:\n${missing.join('\n')}`);
  const chosen = new Set(values.only.split(','));
  const outages = OUTAGES.filter((name) => chosen.has(name) && (CAN_MOUNT || name !== 'disk-full'));
  if (!CAN_MOUNT) console.log('disk-full is left out: this user may not mount a small disk');
  const frames = Number(values.frames);
  const options = { seed: Number(values.seed), frames, from: 'dist', measuring: values.real ? 'real' : 'blank' } as const; // prettier-ignore
  const presets = Object.entries(SHORT_LOCKS).map(([name, value]) => `${name}=${value}`).join(' '); // prettier-ignore
  console.log(`${values.runs} runs each, seed ${values.seed}, ${frames} small frames, ${values.real ? 'really measured' : 'blank measurements (--real measures)'}, 2 services, 3 workers; ${presets}`); // prettier-ignore

  const scenarios = SCENARIOS.filter((name) => chosen.has(name));
  const crashes = await crashRuns({ ...options, runs: Number(values.runs), scenarios }, (scenario, run) => {
    console.log(crashLine(scenario, run));
  });
  const outaged = await outageRuns({ ...options, outages, awaySeconds: AWAY_SECONDS }, (outage, run) => {
    console.log(outageLine(outage, run));
  });
  if (crashes.size > 0) console.log(`\n${crashTable(crashes)}`);
  const all = [...[...crashes.values()].flat(), ...outaged.values()];
  if (!all.every((run) => isClean(run, frames))) process.exitCode = 1;
}

stopClustersOnSignal();
if (values.help) {
  console.log(`npm run crash -- [--runs N] [--seed S] [--frames F] [--real] [--only ${[...SCENARIOS, ...OUTAGES].join(',')}]`); // prettier-ignore
} else await main();
