import { describe, expect, it } from 'vitest';
import { bracketFromSamples, type BracketFrameSamples } from '../../src/photometry/response-fit/bracket.js';
import { fitDebevecMalik } from '../../src/photometry/response-fit/debevec-malik.js';
import { fitResponse } from '../../src/photometry/response-fit/fit-response.js';
import { STRAIGHT, logisticToneCurve, type ToneCurve } from '../../src/photometry/tone-response.js';

/** A still scene of 400 greys over eight stops, photographed through `curve` and rounded to 8-bit sRGB. */
function photograph(curve: ToneCurve, exposures: readonly number[]): BracketFrameSamples[] {
  const encode = (y: number) => (y <= 0.0031308 ? 12.92 * y : 1.055 * y ** (1 / 2.4) - 0.055);
  const decode = (v: number) => (v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4);
  return exposures.map((exposureStops) => {
    const codes = Array.from({ length: 400 }, (_, i) =>
      Math.round(255 * encode(curve.toFile(0.18 * 2 ** ((i / 400) * 8 - 5) * 2 ** exposureStops))),
    );
    return {
      exposureStops,
      blockLinear: Float32Array.from(codes, (c) => decode(c / 255)),
      blockSpread: new Float32Array(400),
      blockClipped: Uint8Array.from(codes, (c) => (c <= 3 || c >= 252 ? 1 : 0)),
    };
  });
}

const CURVES: [string, ToneCurve][] = [
  ['soft', logisticToneCurve({ shadowSlope: 1.2, shoulder: 1, ceilingLinear: 1.2 })],
  ['typical', logisticToneCurve({ shadowSlope: 1.6, shoulder: 1.2, ceilingLinear: 1.08 })],
  ['hard', logisticToneCurve({ shadowSlope: 2.1, shoulder: 0.7, ceilingLinear: 1.1 })],
  ['with a toe', logisticToneCurve({ shadowSlope: 1.7, shoulder: 1, ceilingLinear: 1.1, veilLinear: 0.006 })],
];

describe.each(CURVES)('a bracket through a %s curve', (_name, curve) => {
  it('gives every step back to 0.06 stop', () => {
    const fit = fitResponse(bracketFromSamples(photograph(curve, [-2, -1, 0, 1, 2])));
    if ('refused' in fit) throw new Error(fit.refused);
    expect(fit.steps.length).toBe(4);
    for (const s of fit.steps) expect(Math.abs(s.measuredStops - s.trueStops)).toBeLessThan(0.06);
    // Frames that the fit never saw.
    for (const f of photograph(curve, [-1.5, 0.5])) {
      for (let i = 0; i < 400; i++) {
        const y = f.blockLinear[i]!;
        if (f.blockClipped[i] === 1 || y < 0.01 || y > 0.8) continue;
        const light = Math.log2(fit.curve.toScene(y) / 0.18) - f.exposureStops;
        const truth = Math.log2(curve.toScene(y) / 0.18) - f.exposureStops;
        expect(Math.abs(light - truth)).toBeLessThan(0.12);
      }
    }
  });
});

it('Debevec & Malik on a linear camera: g(255) - g(128) = ln(255 / 128), here between codes 64 and 128 in stops', () => {
  // "linear camera" check value of the published objective: the response is the logarithm of the value itself.
  const curve = fitDebevecMalik(bracketFromSamples(photograph(STRAIGHT, [-2, -1, 0, 1])));
  const decode = (v: number) => ((v / 255 + 0.055) / 1.055) ** 2.4;
  const measured = Math.log2(curve!.toScene(decode(128)) / curve!.toScene(decode(64)));
  expect(Math.abs(measured - Math.log2(decode(128) / decode(64)))).toBeLessThan(0.06);
});

describe('a bracket too poor to fit is refused with the reason', () => {
  const curve = CURVES[1]![1];
  it.each([
    ['two frames', [0, 1], /3 frames/],
    ['no span', [0, 0.1, 0.2], /span/],
  ])('%s', (_name, exposures, reason) => {
    const fit = fitResponse(bracketFromSamples(photograph(curve, exposures)));
    expect('refused' in fit && fit.refused).toMatch(reason);
  });

  it('light that changed between frames', () => {
    const frames = photograph(curve, [-2, -1, 0, 1]);
    const lying = frames.map((f, i) => ({ ...f, exposureStops: [-2, 0.4, 0.6, 1][i]! }));
    const fit = fitResponse(bracketFromSamples(lying));
    expect('refused' in fit && fit.refused).toMatch(/not still/);
  });
});
