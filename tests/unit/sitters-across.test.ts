import { describe, expect, it } from 'vitest';
import { ShootPlan } from '../../src/contracts/plan.js';
import type { SetupChange } from '../../src/contracts/report.js';
import { appearanceDistance, looksDistance, looksOf, medianAppearance } from '../../src/shoot/appearance.js';
import type { AppearanceFacts } from '../../src/shoot/facts.js';
import { judgeShoot } from '../../src/shoot/judge.js';
import { fakeMeasurement } from '../support/measurement.js';

/** A dark coat under a light collar: the closer the crop, the more collar. Stops of the chest over the face. */
const COAT = { head: 0.35, 'three-quarter': -0.1, full: -0.36 } as const;
const FACE_HEIGHT = { head: 0.22, 'three-quarter': 0.135, full: 0.076 } as const;
type Framing = keyof typeof COAT;

const seen = (framing: Framing, chestStops = 0): { appearance: AppearanceFacts } => ({
  appearance: {
    torsoMinusSkinLogRg: -1.1,
    torsoMinusSkinLogBg: 0.93,
    torsoMinusFaceStops: COAT[framing] + chestStops,
    skinLogRg: 1,
    skinLogBg: -0.7,
    cropLog2: Math.log2(FACE_HEIGHT[framing]),
  },
});

describe('one sitter in several framings', () => {
  const before = [seen('head'), seen('three-quarter')];
  const after = [seen('head', -0.3), seen('full', -0.3), seen('three-quarter', -0.3), seen('full', -0.3)];

  it('is judged in the framings nearest to each other, not by a median over all of them', () => {
    const mixed = appearanceDistance(medianAppearance(before), medianAppearance(after), true) ?? 0;
    const nearest = looksDistance(looksOf(before), looksOf(after), true) ?? Infinity;
    expect(mixed).toBeGreaterThan(1.2);
    expect(nearest).toBeLessThan(1);
  });

  it('is nobody else: other clothes stay as far away in any framing', () => {
    const other = [{ appearance: { ...seen('head').appearance, torsoMinusSkinLogRg: -0.8 } }];
    expect(looksDistance(looksOf(before), looksOf(other), true)).toBeGreaterThan(2);
  });

  it('cannot be told without two features', () => {
    const blank: AppearanceFacts = {
      torsoMinusSkinLogRg: null,
      torsoMinusSkinLogBg: null,
      torsoMinusFaceStops: null,
      skinLogRg: 1,
      skinLogBg: null,
      cropLog2: null,
    };
    expect(looksDistance(looksOf([{ appearance: blank }]), looksOf(before))).toBeNull();
  });
});

/** Frames of sitters in coats, nine seconds apart, a pause before the second set-up. */
function changeBetweenSetups(): SetupChange | null {
  const lights = [
    { fNumber: 5.6, faceStops: 0.1, wallStops: -0.1, sideStops: 3.9, chestStops: 0 },
    // Light drawn in and metered: the sitter as bright as before, the wall and the chest further under.
    { fNumber: 8, faceStops: 0.25, wallStops: -1.5, sideStops: 0.8, chestStops: -0.3 },
  ];
  const frames: { setup: 0 | 1; who: 'ada' | 'cole'; framing: Framing }[] = [
    { setup: 0, who: 'ada', framing: 'head' },
    { setup: 0, who: 'ada', framing: 'three-quarter' },
    { setup: 0, who: 'cole', framing: 'three-quarter' },
    { setup: 0, who: 'cole', framing: 'full' },
    { setup: 1, who: 'ada', framing: 'head' },
    { setup: 1, who: 'ada', framing: 'full' },
    { setup: 1, who: 'ada', framing: 'three-quarter' },
    { setup: 1, who: 'ada', framing: 'full' },
  ];
  const report = judgeShoot({
    shoot: { id: 'c', name: 'Coats' },
    plan: ShootPlan.parse({ light: 'flash' }),
    frames: frames.map(({ setup, who, framing }, i) => {
      const light = lights[setup] as (typeof lights)[number];
      const face = light.faceStops + (who === 'ada' ? 0.5 : -0.8);
      return {
        name: `C${i + 1}.jpg`,
        measurement: fakeMeasurement({
          capturedAtMs: 1_780_000_000_000 + i * 9_000 + setup * 600_000,
          fNumber: light.fNumber,
          faceLevelStops: face,
          backgroundLevelStops: light.wallStops,
          sideToSideStops: light.sideStops,
          faceHeightShare: FACE_HEIGHT[framing],
          torsoLevelStops: face + light.chestStops + (who === 'ada' ? COAT[framing] : 0.6),
          appearance: {
            torsoLogRg: who === 'ada' ? -0.1 : -0.12,
            torsoLogBg: 0.24,
            skinLogRg: who === 'ada' ? 1 : 0.82,
            skinLogBg: -0.7,
          },
        }),
        failure: null,
        measurementHref: null,
      };
    }),
  });
  expect(report.setups.map((setup) => setup.frames.length)).toEqual([4, 4]);
  return report.setups[1]?.changeFromPrevious ?? null;
}

describe('the change of light from set-up to set-up', () => {
  it('is the recognised sitter’s, not the wall’s, in whatever framings they were taken', () => {
    const change = changeBetweenSetups();
    expect(change?.settingsStops).toBeCloseTo(-1, 2);
    expect(change?.levelStops).toBeCloseTo(0.15, 2);
    expect(change?.lightStops).toBeCloseTo(1.15, 2);
  });
});
