import { describe, expect, it } from 'vitest';
import { ShootPlan, type ShootPlanInput } from '../../src/contracts/plan.js';
import { ShootReport } from '../../src/contracts/report.js';
import { durationText } from '../../src/shoot/clocks/clock-text.js';
import { judgeShoot } from '../../src/shoot/judge.js';
import { simulateTwoCameras, type TwoCameras } from '../accuracy/simulated-two-cameras.js';
import { shuffled } from '../accuracy/shoot-score.js';

function judge(shoot: TwoCameras, plan: ShootPlanInput = {}) {
  const { frames, trueOrder } = simulateTwoCameras(shoot);
  const report = judgeShoot({
    shoot: { id: 't', name: 'Two' },
    plan: ShootPlan.parse({ light: 'flash', ...plan }),
    frames: shuffled(frames, shoot.seed),
  });
  const [clock] = report.summary.clocks;
  if (clock === undefined) throw new Error('expected a clock for the second camera');
  // Which of the two is listed is a matter of which made more frames.
  const aheadSeconds =
    clock.aheadSeconds === null ? null : clock.aheadSeconds * (clock.camera === 'Maker Two' ? 1 : -1) + 0;
  return { report, clock, aheadSeconds, trueOrder };
}

const SEEDS = [1, 2, 3, 4, 5, 6, 7, 8, 9, 10];
/** The set-up that a frame was really made in: names count up by 200 from set-up to set-up. */
const trueSetup = (name: string): number => Math.floor((Number(name.slice(4, 9)) - 1) / 200);
const setupsInOrder = (report: ShootReport): number[] => report.frames.map(({ name }) => trueSetup(name));

describe('two cameras whose clocks disagree', () => {
  it('by an hour: the hour is found and taken off, and the finding says so', () => {
    for (const seed of SEEDS) {
      const { report, aheadSeconds } = judge({ seed, aheadSeconds: 3600, setups: 5 });
      expect(aheadSeconds).toBe(3600);
      expect(setupsInOrder(report)).toEqual([...setupsInOrder(report)].sort((a, b) => a - b));
      expect(report.summary.findings.join(' ')).toMatch(/^.*The clock of Maker \w+ runs 1 h (behind|ahead of) that of/);
    }
  });

  it('by 3 min 20 s: found to a quarter of a minute, whatever its sign', () => {
    for (const seed of SEEDS)
      for (const seconds of [200, -200]) {
        const { report, aheadSeconds } = judge({ seed, aheadSeconds: seconds, setups: 5 });
        expect(Math.abs((aheadSeconds ?? Infinity) - seconds)).toBeLessThanOrEqual(15);
        expect(setupsInOrder(report)).toEqual([...setupsInOrder(report)].sort((a, b) => a - b));
        expect(ShootReport.safeParse(report).error).toBeUndefined();
      }
  });

  it('and were never set at all: years apart are found as well', () => {
    const { aheadSeconds } = judge({ seed: 3, aheadSeconds: -400 * 86_400, setups: 6 });
    expect(Math.abs((aheadSeconds ?? Infinity) + 400 * 86_400)).toBeLessThanOrEqual(15);
  });

  it('keeps the time that each file tells in the report', () => {
    const { report } = judge({ seed: 1, aheadSeconds: 3600, setups: 5 });
    const { frames } = simulateTwoCameras({ seed: 1, aheadSeconds: 3600, setups: 5 });
    const told = new Map(frames.map(({ name, measurement }) => [name, measurement?.exposure.capturedAt?.iso]));
    for (const frame of report.frames) expect(frame.capturedAt).toBe(told.get(frame.name));
  });
});

describe('two cameras whose clocks agree', () => {
  it('are said to agree, and nothing is taken off', () => {
    for (const seed of SEEDS) {
      const { report, clock } = judge({ seed, aheadSeconds: 0, setups: 5 });
      expect(clock).toMatchObject({ from: 'found', aheadSeconds: 0 });
      expect(report.summary.findings.join(' ')).not.toMatch(/clock/);
      expect(report.summary.notes.join(' ')).toMatch(/agree/);
    }
  });

  it('by a plain difference of a few seconds as well', () => {
    for (const seed of SEEDS)
      expect(judge({ seed, aheadSeconds: 8, setups: 5 }).clock).toMatchObject({ from: 'found', aheadSeconds: 0 });
  });
});

describe('too little to compare two clocks by', () => {
  it('is said, where one light stays or two set-ups are all there are', () => {
    for (const seed of SEEDS)
      for (const shoot of [
        { seed, aheadSeconds: 200, setups: 5, sameLight: true },
        { seed, aheadSeconds: 3600, setups: 2 },
      ]) {
        const { report, clock } = judge(shoot);
        expect(clock).toMatchObject({ from: 'unknown', aheadSeconds: null, uncertaintySeconds: null });
        expect(report.summary.notes.join(' ')).toMatch(/each camera's set-ups are judged by themselves/);
        expect(report.summary.findings.join(' ')).not.toMatch(/clock/);
      }
  });
});

describe('clocks that the plan tells', () => {
  const shoot = { seed: 2, aheadSeconds: 3600, setups: 2 };

  it('are taken off, by model or by all that the file tells', () => {
    for (const camera of ['Two', 'Maker Two']) {
      const { report, trueOrder } = judge(shoot, { cameraClocks: [{ camera, aheadSeconds: 3600 }] });
      expect(report.frames.map(({ name }) => name)).toEqual(trueOrder);
    }
  });

  it('are said of the camera that they are about, and one without frames as well', () => {
    const { report } = judge(shoot, {
      cameraClocks: [
        { camera: 'Two', aheadSeconds: 3600 },
        { camera: 'Three', aheadSeconds: 5 },
      ],
    });
    expect(report.summary.notes.join(' ')).toMatch(/No frame is of Three/);
  });

  it('shift the planned times with them', () => {
    const { frames } = simulateTwoCameras(shoot);
    const trueMs = frames.map(
      ({ name, measurement }) =>
        (measurement?.exposure.capturedAt?.epochMs ?? NaN) - (name.startsWith('TWO') ? 3_600_000 : 0),
    );
    const from = Math.ceil(Math.min(...trueMs) / 1000) * 1000;
    const clockOf = (ms: number): string => new Date(ms).toISOString().slice(0, 19);
    const { report } = judge(shoot, {
      cameraClocks: [{ camera: 'Two', aheadSeconds: 3600 }],
      setups: [{ name: 'first minute', times: { from: clockOf(from), until: clockOf(from + 60_000) } }],
    });
    const inside = trueMs.filter((ms) => ms >= from && ms <= from + 60_000).length;
    expect(inside).toBeGreaterThan(6);
    expect(report.planCompliance[0]?.frames).toBe(inside);
  });

  it('are refused where they are no numbers', () => {
    expect(ShootPlan.safeParse({ cameraClocks: [{ camera: 'Two', aheadSeconds: '1 h' }] }).success).toBe(false);
    expect(ShootPlan.safeParse({ cameraClocks: [{ camera: '', aheadSeconds: 3 }] }).success).toBe(false);
  });
});

describe('one camera', () => {
  it('has no clock to compare', () => {
    const { frames } = simulateTwoCameras({ seed: 1, aheadSeconds: 0, setups: 4 });
    const alone = frames.filter(({ name }) => name.startsWith('ONE'));
    const report = judgeShoot({ shoot: { id: 'o', name: 'One' }, plan: ShootPlan.parse({}), frames: alone });
    expect(report.summary.clocks).toEqual([]);
  });
});

describe('durations in words', () => {
  it('leave out what is nought', () => {
    expect(durationText(3600)).toBe('1 h');
    expect(durationText(-200)).toBe('3 min 20 s');
    expect(durationText(90_061)).toBe('1 d 1 h 1 min 1 s');
    expect(durationText(0)).toBe('0 s');
  });
});
