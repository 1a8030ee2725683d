import { ShootPlan } from '../../src/contracts/plan.js';
import type { ReportFrame, ShootReport } from '../../src/contracts/report.js';
import { judgeShoot } from '../../src/shoot/judge.js';
import { countHabits, noHabitScores, type HabitScores } from './habit-score.js';
import { LEVEL_FAULTS, type FaultKind } from './fault-kinds.js';
import { SeededRandom } from './seeded-random.js';
import { simulateShoot, type SimulatedShoot } from './shoot-simulator.js';

export interface ShootScores {
  shoots: number;
  frames: number;
  boundaryF1: number;
  boundaryPrecision: number;
  boundaryRecall: number;
  faultPrecision: number;
  faultRecall: number;
  causeShare: number;
  recallByKind: Partial<Record<FaultKind, { found: number; of: number; named: number }>>;
  /** Frames with dark legs that nothing tells; they count neither way. */
  unseenLegs: number;
  cleanFrames: number;
  falseFlagsPer200: number;
  swappedSkinChanged: number;
  swappedSkinFrames: number;
  shuffledDiffering: number;
  habits: HabitScores;
}

const LEVEL_CODES = new Set([
  'level-off-baseline',
  'settings-changed',
  'light-changed',
  'light-missing',
  'light-short',
  'face-dark',
  'face-bright',
]);

export function judgeSimulated(shoot: SimulatedShoot, frames = shoot.frames): ShootReport {
  return judgeShoot({ shoot: { id: 'simulated', name: 'Simulated' }, plan: ShootPlan.parse({}), frames });
}

export const tellingCodes = (frame: ReportFrame): string[] =>
  frame.flags.filter((flag) => flag.severity !== 'note').map((flag) => flag.code);

/** Judges `shoots` shoots with faults and as many clean ones, from one seed. */
export function scoreShoots(firstSeed: number, shoots: number): ShootScores {
  const boundary = { hit: 0, reported: 0, true: 0 };
  const faults = { flagged: 0, flaggedTrue: 0, true: 0, found: 0, named: 0 };
  const recallByKind: ShootScores['recallByKind'] = {};
  const habits = noHabitScores();
  let frames = 0;
  let unseenLegs = 0;
  let shuffledDiffering = 0;
  for (let i = 0; i < shoots; i++) {
    const shoot = simulateShoot({ seed: firstSeed + i, faults: true });
    const report = judgeSimulated(shoot);
    frames += shoot.frames.length;
    unseenLegs += shoot.unseenLegs;
    countBoundaries(shoot, report, boundary);
    countFaults(shoot, report, faults, recallByKind);
    countHabits(shoot, report, habits);
    const again = judgeSimulated(shoot, shuffled(shoot.frames, firstSeed + i));
    if (JSON.stringify(again) !== JSON.stringify(report)) shuffledDiffering++;
  }
  const clean = scoreClean(firstSeed + 500_000, shoots, habits);
  const precision = boundary.reported === 0 ? 1 : boundary.hit / boundary.reported;
  const recall = boundary.true === 0 ? 1 : boundary.hit / boundary.true;
  return {
    shoots,
    frames,
    boundaryPrecision: precision,
    boundaryRecall: recall,
    boundaryF1: (2 * precision * recall) / (precision + recall),
    faultPrecision: faults.flagged === 0 ? 1 : faults.flaggedTrue / faults.flagged,
    faultRecall: faults.true === 0 ? 1 : faults.found / faults.true,
    causeShare: faults.found === 0 ? 1 : faults.named / faults.found,
    recallByKind,
    unseenLegs,
    ...clean,
    ...scoreSwappedSkin(firstSeed, shoots),
    shuffledDiffering,
    habits,
  };
}

function countBoundaries(
  shoot: SimulatedShoot,
  report: ShootReport,
  into: { hit: number; reported: number; true: number },
): void {
  const place = new Map(report.frames.map((frame, i) => [frame.name, i]));
  const reported = report.setups.slice(1).map((setup) => place.get(setup.firstFrame) ?? -1);
  const open = [...shoot.boundaries];
  for (const at of reported) {
    // One frame off counts: the frame between may belong to either.
    const match = open.findIndex((truth) => Math.abs(truth - at) <= 1);
    if (match >= 0) {
      open.splice(match, 1);
      into.hit++;
    }
  }
  into.reported += reported.length;
  into.true += shoot.boundaries.length;
}

function countFaults(
  shoot: SimulatedShoot,
  report: ShootReport,
  into: { flagged: number; flaggedTrue: number; true: number; found: number; named: number },
  byKind: ShootScores['recallByKind'],
): void {
  report.frames.forEach((frame, i) => {
    const truth = shoot.truth[i];
    if (truth === undefined) return;
    const codes = tellingCodes(frame);
    if (codes.length > 0) {
      if (truth.undecided && truth.fault === null) return;
      into.flagged++;
      if (truth.fault !== null) into.flaggedTrue++;
    }
    if (truth.fault === null) return;
    into.true++;
    const kind = (byKind[truth.fault] ??= { found: 0, of: 0, named: 0 });
    kind.of++;
    const nearer = truth.fault !== 'subject-nearer' || frame.flags.some((flag) => /nearer|further/.test(flag.because));
    const named = nearer && truth.expected.some((code) => codes.includes(code));
    const found = named || (LEVEL_FAULTS.has(truth.fault) && codes.some((code) => LEVEL_CODES.has(code)));
    if (found) {
      into.found++;
      kind.found++;
    }
    if (named) {
      into.named++;
      kind.named++;
    }
  });
}

function scoreClean(
  firstSeed: number,
  shoots: number,
  habits: HabitScores,
): Pick<ShootScores, 'cleanFrames' | 'falseFlagsPer200'> {
  let frames = 0;
  let flagged = 0;
  for (let i = 0; i < shoots; i++) {
    const shoot = simulateShoot({ seed: firstSeed + i, faults: false });
    const report = judgeSimulated(shoot);
    countHabits(shoot, report, habits);
    frames += report.frames.length;
    flagged += report.frames.filter((frame) => tellingCodes(frame).length > 0).length;
  }
  return { cleanFrames: frames, falseFlagsPer200: (200 * flagged) / Math.max(1, frames) };
}

/** Frames whose flags differ in code or severity when every person has another skin, all else the same. */
function scoreSwappedSkin(
  firstSeed: number,
  shoots: number,
): Pick<ShootScores, 'swappedSkinChanged' | 'swappedSkinFrames'> {
  let changed = 0;
  let frames = 0;
  for (let i = 0; i < shoots; i++) {
    const seed = firstSeed + i;
    const one = judgeSimulated(simulateShoot({ seed, faults: true }));
    const other = judgeSimulated(simulateShoot({ seed, faults: true, otherSkin: true }));
    frames += one.frames.length;
    one.frames.forEach((frame, k) => {
      if (tellingCodes(frame).join() !== tellingCodes(other.frames[k] as ReportFrame).join()) changed++;
    });
  }
  return { swappedSkinChanged: changed, swappedSkinFrames: frames };
}

export function shuffled<T>(items: readonly T[], seed: number): T[] {
  const random = new SeededRandom(seed + 31);
  const mixed = [...items];
  for (let i = mixed.length - 1; i > 0; i--) {
    const j = random.whole(0, i);
    [mixed[i], mixed[j]] = [mixed[j] as T, mixed[i] as T];
  }
  return mixed;
}
