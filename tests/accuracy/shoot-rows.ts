import type { AccuracyRow } from './row.js';
import { scoreShoots, type ShootScores } from './shoot-score.js';
import type { FaultKind } from './fault-kinds.js';

/** First seeds of the runs that the table is made of. */
const SEEDS = [1, 1001, 2001, 3001, 4001] as const;
const SHOOTS = 200;
const SECTION = 'judging simulated shoots';

/** Rows for the table of accuracy: the worst of the runs, then each kind of incident over all of them. */
export function shootRows(seeds: readonly number[] = SEEDS, shoots = SHOOTS): AccuracyRow[] {
  const runs = seeds.map((seed) => scoreShoots(seed, shoots));
  const frames = runs.reduce((sum, run) => sum + run.frames, 0);
  const truth = `shoot simulator, ${shoots} shoots with incidents and as many clean ones from each of seeds ${seeds.join(', ')} (${frames} frames with incidents); the worst of them`;
  const least = (what: string, read: (run: ShootScores) => number, goal: number): AccuracyRow => ({
    section: SECTION,
    what,
    measured: Math.min(...runs.map(read)),
    goal,
    unit: 'share',
    sense: 'least',
    truth,
  });
  const most = (what: string, read: (run: ShootScores) => number, goal: number, unit: string): AccuracyRow => ({
    section: SECTION,
    what,
    measured: Math.max(...runs.map(read)),
    goal,
    unit,
    sense: 'most',
    truth,
  });
  return [
    least('set-up boundaries, F1', (run) => run.boundaryF1, 0.95),
    least('faults of 1/3 stop and more, precision', (run) => run.faultPrecision, 0.95),
    least('faults of 1/3 stop and more, recall', (run) => run.faultRecall, 0.95),
    least('cause named right', (run) => run.causeShare, 0.9),
    most('false flags on clean shoots', (run) => run.falseFlagsPer200, 1, 'frames in 200'),
    most('frames whose flags another skin changes', (run) => run.swappedSkinChanged, 0, 'frames'),
    most('reports that a shuffle changes', (run) => run.shuffledDiffering, 0, 'shoots'),
    ...kindRows(runs),
    ...habitRows(runs),
  ];
}

/** Of the frames of each kind of incident, the share that was flagged with its own cause. */
function kindRows(runs: readonly ShootScores[]): AccuracyRow[] {
  const kinds = new Map<FaultKind, { named: number; of: number }>();
  for (const { recallByKind } of runs)
    for (const [kind, { named, of }] of Object.entries(recallByKind) as [FaultKind, { named: number; of: number }][]) {
      const sum = kinds.get(kind) ?? { named: 0, of: 0 };
      kinds.set(kind, { named: sum.named + named, of: sum.of + of });
    }
  const unseen = runs.reduce((sum, run) => sum + run.unseenLegs, 0);
  const notCounted = `; ${unseen} more, in trousers that no two frames show lit, are not counted`;
  return [...kinds]
    .sort(([a], [b]) => (a < b ? -1 : 1))
    .map(([kind, { named, of }]) => ({
      section: 'judging simulated shoots, by kind of incident',
      what: `${kind}: found and named`,
      measured: named / of,
      goal: 0.9,
      unit: 'share',
      sense: 'least',
      truth: `${of} frames, all seeds${kind === 'legs-dark' ? notCounted : ''}`,
    }));
}

/** Of what holds for whole set-ups and shoots, the share that was found. */
function habitRows(runs: readonly ShootScores[]): AccuracyRow[] {
  return (['drifts', 'automations', 'mixed'] as const).map((habit) => {
    const of = runs.reduce((sum, run) => sum + run.habits[habit].of, 0);
    const found = runs.reduce((sum, run) => sum + run.habits[habit].found, 0);
    const wrong = runs.reduce((sum, run) => sum + run.habits[habit].claimed - run.habits[habit].claimedRight, 0);
    const what = { drifts: 'set-ups with a drift', automations: 'set-ups exposed by the camera', mixed: 'mixed light' };
    return {
      section: 'judging simulated shoots, by kind of incident',
      what: `${what[habit]}: found (told where there is none: ${wrong})`,
      measured: of === 0 ? 1 : found / of,
      goal: 0.9,
      unit: 'share',
      sense: 'least',
      truth: `${of} of them, all seeds`,
    };
  });
}
