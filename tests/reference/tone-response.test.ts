import { describe, expect, it } from 'vitest';
import {
  ASSUMED_CAMERA_CURVE,
  STRAIGHT,
  knotToneCurve,
  logisticToneCurve,
  type ToneCurve,
} from '../../src/photometry/tone-response.js';

const CURVES: [string, ToneCurve][] = [
  ['straight', STRAIGHT],
  ['assumed', ASSUMED_CAMERA_CURVE],
  ['with a late shoulder', logisticToneCurve({ shadowSlope: 1.8, shoulder: 2.5, ceilingLinear: 1.02 })],
  ['with a veil', logisticToneCurve({ shadowSlope: 1.5, shoulder: 0.8, ceilingLinear: 1.3, veilLinear: 0.002 })],
  ['by knots', knotToneCurve([0.001, 0.01, 0.18, 0.6, 1], [0.004, 0.03, 0.2, 0.7, 2])],
];

describe.each(CURVES)('%s', (_name, curve) => {
  it('keeps mid-grey', () => {
    expect(curve.toScene(0.18)).toBeCloseTo(0.18, 10);
    expect(curve.toFile(0.18)).toBeCloseTo(0.18, 10);
  });

  it('ascends, and comes back', () => {
    let last = 0;
    for (let i = 1; i < 400; i++) {
      const y = i / 400;
      const x = curve.toScene(y);
      expect(x).toBeGreaterThanOrEqual(last);
      if (x > 0) expect(curve.toFile(x)).toBeCloseTo(y, 8);
      last = x;
    }
    expect(curve.toScene(0)).toBe(0);
  });

  it('states its slope at mid-grey', () => {
    const h = 2 ** 0.01;
    const slope = (2 * 0.01) / Math.log2(curve.toScene(0.18 * h) / curve.toScene(0.18 / h));
    expect(curve.slopeAtMid).toBeCloseTo(slope, 3);
  });
});

it('the assumed curve reads the mid-tones of real brackets right', () => {
  // One stop of light reads as 1.48 stops in the median of 26 brackets, sRGB-decoded mid-tones (-3..0 stops re mid-grey),
  // most between 1.24 and 1.75; about 1.6 three stops under mid-grey, 1.25 at it and 0.65 two stops over it.
  const slopeAt = (level: number) => {
    const y = 0.18 * 2 ** level;
    return 0.1 / Math.log2(ASSUMED_CAMERA_CURVE.toScene(y * 2 ** 0.05) / ASSUMED_CAMERA_CURVE.toScene(y * 2 ** -0.05));
  };
  const mean = [-3, -2.5, -2, -1.5, -1, -0.5, 0].reduce((s, l) => s + slopeAt(l) / 7, 0);
  expect(mean).toBeGreaterThan(1.4);
  expect(mean).toBeLessThan(1.56);
  expect(Math.abs(slopeAt(-3) - 1.6)).toBeLessThan(0.1);
  expect(Math.abs(slopeAt(0) - 1.25)).toBeLessThan(0.12);
  expect(Math.abs(slopeAt(2) - 0.65)).toBeLessThan(0.15);
});

it.each([
  [{ shadowSlope: 0, shoulder: 1, ceilingLinear: 1.1 }],
  [{ shadowSlope: 1.5, shoulder: -1, ceilingLinear: 1.1 }],
  [{ shadowSlope: 1.5, shoulder: 1, ceilingLinear: 1 }],
  [{ shadowSlope: 1.5, shoulder: 1, ceilingLinear: 1.1, veilLinear: -1 }],
])('refuses %j', (parameters) => {
  expect(() => logisticToneCurve(parameters)).toThrow(/Expected .* but received/);
});
