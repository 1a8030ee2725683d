import { ShootPlan, type ShootPlanInput } from '../../src/contracts/plan.js';
import type { ShootReport } from '../../src/contracts/report.js';
import type { JudgedFrameInput } from '../../src/shoot/input.js';
import { judgeShoot } from '../../src/shoot/judge.js';
import { fakeMeasurement, type FakeFrame } from './measurement.js';

export const FAKE_START_MS = Date.parse('2026-05-16T10:00:00Z');

/** So many frames alike. */
export const times = (count: number, fake: FakeFrame = {}): FakeFrame[] => Array.from({ length: count }, () => fake);

/** The whole picture brighter by so much. */
export const lit = (stops: number, fake: FakeFrame = {}): FakeFrame => ({
  ...fake,
  faceLevelStops: (fake.faceLevelStops ?? 0.5) + stops,
  torsoLevelStops: (fake.torsoLevelStops ?? -0.5) + stops,
  backgroundLevelStops: (fake.backgroundLevelStops ?? -1) + stops,
  frameLevelStops: -1.2 + stops,
});

/** Frames F001.jpg … ten seconds apart, unsteady by a few hundredths of a stop so that nothing is exactly equal. */
export function fakeShoot(fakes: readonly FakeFrame[]): JudgedFrameInput[] {
  return fakes.map((fake, i) => {
    const shake = (Math.sin(i * 12.9) * 43758.5) % 0.04;
    const moved = (level: number | null | undefined, usual: number, by: number) =>
      level === null ? null : (level ?? usual) + by;
    return {
      name: `F${String(i + 1).padStart(3, '0')}.jpg`,
      measurement: fakeMeasurement({
        capturedAtMs: FAKE_START_MS + i * 10_000,
        ...fake,
        faceLevelStops: moved(fake.faceLevelStops, 0.5, shake),
        backgroundLevelStops: moved(fake.backgroundLevelStops, -1, -shake),
      }),
      failure: null,
      measurementHref: null,
    };
  });
}

export function judgeFakes(fakes: readonly FakeFrame[], plan: ShootPlanInput = { light: 'flash' }): ShootReport {
  return judgeShoot({ shoot: { id: 'x', name: 'Hall' }, plan: ShootPlan.parse(plan), frames: fakeShoot(fakes) });
}

/** Codes of the flags of a frame that are no mere notes. */
export const codesOf = (report: ShootReport, index: number): string[] =>
  (report.frames[index]?.flags ?? []).filter((flag) => flag.severity !== 'note').map((flag) => flag.code);
