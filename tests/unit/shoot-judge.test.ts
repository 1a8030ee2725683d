import { describe, expect, it } from 'vitest';
import { FrameMeasurement } from '../../src/contracts/measurement.js';
import { ShootPlan } from '../../src/contracts/plan.js';
import { ShootReport } from '../../src/contracts/report.js';
import { judgeShoot } from '../../src/shoot/judge.js';
import type { JudgedFrameInput } from '../../src/shoot/input.js';
import { fakeMeasurement, type FakeFrame } from '../support/measurement.js';

const START = 1_780_000_000_000;

/** Frames ten seconds apart, F001 …; small fixed unsteadiness so that nothing is exactly equal. */
function shootOf(fakes: FakeFrame[]): JudgedFrameInput[] {
  return fakes.map((fake, i) => ({
    name: `F${String(i + 1).padStart(3, '0')}.jpg`,
    measurement: fakeMeasurement({ capturedAtMs: START + i * 10_000, ...unsteady(fake, i) }),
    failure: null,
    measurementHref: null,
  }));
}

function unsteady(fake: FakeFrame, i: number): FakeFrame {
  const shake = (Math.sin(i * 12.9) * 43758.5) % 0.04;
  return {
    ...fake,
    faceLevelStops: fake.faceLevelStops === null ? null : (fake.faceLevelStops ?? 0.5) + shake,
    backgroundLevelStops: fake.backgroundLevelStops === null ? null : (fake.backgroundLevelStops ?? -1) - shake,
  };
}

const times = (count: number, fake: FakeFrame = {}): FakeFrame[] => Array.from({ length: count }, () => fake);
/** The whole picture brighter by so much. */
const lit = (stops: number, fake: FakeFrame = {}): FakeFrame => ({
  ...fake,
  faceLevelStops: (fake.faceLevelStops ?? 0.5) + stops,
  torsoLevelStops: (fake.torsoLevelStops ?? -0.5) + stops,
  backgroundLevelStops: (fake.backgroundLevelStops ?? -1) + stops,
  frameLevelStops: -1.2 + stops,
});

function judge(fakes: FakeFrame[], plan: Parameters<typeof ShootPlan.parse>[0] = { light: 'flash' }) {
  return judgeShoot({ shoot: { id: 'x', name: 'Hall' }, plan: ShootPlan.parse(plan), frames: shootOf(fakes) });
}

const codes = (report: ReturnType<typeof judge>, index: number): string[] =>
  (report.frames[index]?.flags ?? []).filter((flag) => flag.severity !== 'note').map((flag) => flag.code);

describe('judgeShoot', () => {
  it('takes schema-valid measurements and gives a schema-valid report', () => {
    expect(FrameMeasurement.safeParse(fakeMeasurement()).error).toBeUndefined();
    const report = judge(times(10));
    expect(ShootReport.safeParse(report).error).toBeUndefined();
    expect(report.setups).toHaveLength(1);
    expect(report.summary.consistent).toBe(10);
  });

  it('names a flash that did not fire, and the other frames stay consistent', () => {
    const report = judge([...times(6), lit(-4), ...times(6)]);
    expect(report.setups).toHaveLength(1);
    expect(codes(report, 6)).toEqual(['light-missing', 'level-off-baseline']);
    expect(report.frames[6]?.toBaselineStops).toBeCloseTo(4, 1);
    expect(report.summary.consistent).toBe(12);
  });

  it('names ISO knocked by a stop for three frames and back', () => {
    const report = judge([...times(6), ...times(3, lit(1, { iso: 200 })), ...times(6)]);
    expect(report.setups).toHaveLength(1);
    for (const i of [6, 7, 8]) {
      expect(codes(report, i)).toEqual(['settings-changed', 'level-off-baseline']);
      expect(report.frames[i]?.deviation.ofWhichSettingsStops).toBeCloseTo(1, 3);
    }
    expect(report.summary.off).toBe(3);
  });

  it('finds nothing wrong with an aperture opened and the lamp turned down to match', () => {
    const report = judge([...times(6), ...times(4, { fNumber: 5.6 }), ...times(6)]);
    expect(report.summary.consistent).toBe(16);
  });

  it('never calls another skin a fault', () => {
    const report = judge([...times(5), ...times(5, { faceLevelStops: -1.2 }), ...times(5, { faceLevelStops: 1.1 })]);
    expect(report.setups).toHaveLength(1);
    expect(report.summary.consistent).toBe(15);
  });
});
