import type { Setup, ShootReport } from '../../src/contracts/report.js';
import type { SimulatedHabit } from './simulated-habits.js';
import type { SimulatedShoot } from './shoot-simulator.js';

/** How well what holds for whole set-ups, and for the shoot's light, was found. */
export interface HabitScores {
  drifts: { of: number; found: number; claimed: number; claimedRight: number; rateErrors: number[] };
  automations: { of: number; found: number; claimed: number; claimedRight: number };
  /** Shoots whose light is mixed and that hold changes of shutter enough to tell. */
  mixed: { of: number; found: number; claimed: number; claimedRight: number; weightErrors: number[] };
  lightKind: { of: number; right: number };
}

export const noHabitScores = (): HabitScores => ({
  drifts: { of: 0, found: 0, claimed: 0, claimedRight: 0, rateErrors: [] },
  automations: { of: 0, found: 0, claimed: 0, claimedRight: 0 },
  mixed: { of: 0, found: 0, claimed: 0, claimedRight: 0, weightErrors: [] },
  lightKind: { of: 0, right: 0 },
});

/** Changes of shutter from which a weight can be told. */
const LEAST_SHUTTER_CHANGES = 4;

/**
 * Counts what was found and what was told. A habit is found where a set-up that tells one holds half of its frames; one is told
 * right where half of the frames that it is told of have it, however an incident cut its set-up into parts.
 */
export function countHabits(shoot: SimulatedShoot, report: ShootReport, into: HabitScores): void {
  const place = new Map(report.frames.map((frame, i) => [frame.name, i]));
  for (const kind of ['drift', 'automation'] as const) {
    const scores = kind === 'drift' ? into.drifts : into.automations;
    const truths = shoot.habits.filter((habit) => habit.kind === kind);
    const claims = report.setups.filter((setup) => setup[kind] !== null);
    const matches = (habit: SimulatedHabit, setup: Setup): boolean => shareSeen(habit, placesOf(setup, place)) >= 0.5;
    const isRight = (setup: Setup): boolean => {
      const told = toldPlaces(setup, kind, place);
      return truths.some((habit) => told.filter((at) => at >= habit.first && at <= habit.last).length >= 0.5 * told.length); // prettier-ignore
    };
    scores.of += truths.length;
    scores.found += truths.filter((habit) => claims.some((setup) => matches(habit, setup))).length;
    scores.claimed += claims.length;
    scores.claimedRight += claims.filter(isRight).length;
    if (kind === 'automation') continue;
    for (const habit of truths) {
      const found = claims.find((setup) => matches(habit, setup))?.drift ?? null;
      if (found !== null && habit.stopsPer100Frames !== null)
        into.drifts.rateErrors.push(Math.abs(found.stopsPer100Frames / habit.stopsPer100Frames - 1));
    }
  }
  const changes = shoot.truth.filter(
    (frame, i) =>
      i > 0 && Math.abs(Math.log2(frame.exposureTimeSeconds / (shoot.truth[i - 1]?.exposureTimeSeconds ?? 1))) > 0.6,
  ).length;
  const { shutterWeight, kind } = report.summary.light;
  const claimed = shutterWeight > 0 && shutterWeight < 1;
  if (claimed) into.mixed.claimed++;
  if (claimed && shoot.ambientShare > 0) into.mixed.claimedRight++;
  if (shoot.ambientShare > 0 && changes >= LEAST_SHUTTER_CHANGES) {
    into.mixed.of++;
    if (claimed) {
      into.mixed.found++;
      into.mixed.weightErrors.push(Math.abs(shutterWeight - shoot.ambientShare));
    }
  }
  into.lightKind.of++;
  if (kind === shoot.light) into.lightKind.right++;
}

const placesOf = (setup: Setup, place: ReadonlyMap<string, number>): number[] =>
  setup.frames.map((name) => place.get(name) ?? -1);

/** The frames that a habit is told of: of a drift from its first to its last, which may be a part of the set-up. */
function toldPlaces(setup: Setup, kind: SimulatedHabit['kind'], place: ReadonlyMap<string, number>): number[] {
  const { drift } = setup;
  if (kind !== 'drift' || drift === null) return placesOf(setup, place);
  const [first, last] = [place.get(drift.firstFrame) ?? 0, place.get(drift.lastFrame) ?? -1];
  return placesOf(setup, place).filter((at) => at >= first && at <= last);
}

/** Share of the habit's frames among these places. */
function shareSeen(habit: SimulatedHabit, places: readonly number[]): number {
  return places.filter((at) => at >= habit.first && at <= habit.last).length / (habit.last - habit.first + 1);
}
