import { describe, expect, it } from 'vitest';
import type { ShootReport } from '../../src/contracts/report.js';
import { countHabits, noHabitScores } from '../accuracy/habit-score.js';
import { judgeSimulated } from '../accuracy/shoot-score.js';
import { simulateShoot, type SimulatedShoot } from '../accuracy/shoot-simulator.js';

/** A steady shoot of the simulator whose truth is said to drift in these frames, and whose report to tell these drifts. */
function drifts(truth: [first: number, last: number][], told: { frames: [number, number]; drift: [number, number] }[]) {
  const shoot = simulateShoot({ seed: 1, faults: false });
  const report = judgeSimulated(shoot);
  const name = (at: number): string => report.frames[at]?.name ?? '';
  const [setup] = report.setups;
  if (setup === undefined) throw new Error('the simulated shoot has no set-up');
  const setups = told.map(({ frames: [from, to], drift: [first, last] }) => ({
    ...setup,
    frames: Array.from({ length: to - from + 1 }, (_, i) => name(from + i)),
    drift: { stopsPer100Frames: -2, errorStopsPer100Frames: 0.1, totalStops: -0.4, firstFrame: name(first), lastFrame: name(last), witnesses: 'both' as const, because: 'It drifts.' }, // prettier-ignore
  }));
  const habits: SimulatedShoot['habits'] = truth.map(([first, last]) => ({ kind: 'drift', setup: 0, first, last, stopsPer100Frames: -2 })); // prettier-ignore
  const scores = noHabitScores();
  countHabits({ ...shoot, habits }, { ...report, setups } satisfies ShootReport, scores);
  const { of, found, claimed, claimedRight } = scores.drifts;
  return { of, found, claimed, claimedRight };
}

describe('counting drifts that are told', () => {
  it('is right of every part that an incident cut a drifting set-up into, and found by the part that holds half of it', () => {
    const parts = [[0, 19], [20, 21], [22, 25]].map(([from, to]) => ({ frames: [from!, to!] as [number, number], drift: [from!, to!] as [number, number] })); // prettier-ignore
    expect(drifts([[0, 25]], parts)).toEqual({ of: 1, found: 1, claimed: 3, claimedRight: 3 });
    expect(drifts([[0, 25]], parts.slice(1))).toEqual({ of: 1, found: 0, claimed: 2, claimedRight: 2 });
  });

  it('is wrong where the frames that it is told of hardly drift, however much of the drift its set-up holds', () => {
    expect(drifts([[10, 15]], [{ frames: [0, 20], drift: [0, 8] }])).toMatchObject({ claimed: 1, claimedRight: 0 });
    expect(drifts([[10, 15]], [{ frames: [0, 20], drift: [8, 15] }])).toMatchObject({ claimed: 1, claimedRight: 1 });
    expect(drifts([], [{ frames: [0, 20], drift: [0, 20] }])).toMatchObject({ claimed: 1, claimedRight: 0 });
  });
});
