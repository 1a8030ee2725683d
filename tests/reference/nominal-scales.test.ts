import { describe, expect, it } from 'vitest';
import { avFromFNumber, tvFromSeconds } from '../../src/photometry/apex.js';
import {
  NOMINAL_TOLERANCE_STOPS,
  exactExposureTimeSeconds,
  exactFNumber,
  exactIso,
} from '../../src/photometry/nominal-scales.js';
import { F_HALF, F_THIRD, ISO_HALF, ISO_THIRD, T_HALF, T_THIRD } from '../../src/photometry/nominal-series.js';
import { checkTable, rows } from '../support/check-table.js';

describe('nominal scales', () => {
  checkTable('exactFNumber', (n: number, prefer: 'third' | 'half') => exactFNumber(n, prefer).exact, [
    ...rows<[number, 'third' | 'half']>('2^(k/6), full and third stops', 5e-5, [
      [[11, 'third'], 11.3137],
      [[5.6, 'third'], 5.6569],
      [[3.5, 'third'], 3.5636],
      [[13, 'third'], 12.6992],
      [[8, 'third'], 8],
      [[1.2, 'third'], 2 ** (1 / 3)],
    ]),
    ...rows<[number, 'third' | 'half']>('2^(k/4), half stops', 5e-5, [
      [[13, 'half'], 13.4543],
      [[1.2, 'half'], 2 ** (1 / 4)],
      [[6.7, 'half'], 2 ** (11 / 4)],
      [[6.7, 'third'], 2 ** (11 / 4)],
      [[6.3, 'half'], 2 ** (16 / 6)],
    ]),
  ]);
  checkTable('exactExposureTimeSeconds', (t: number) => exactExposureTimeSeconds(t).exact, [
    ...rows<[number]>('2^(-k/3)', 0, [
      [[1 / 60], 1 / 64],
      [[1 / 125], 1 / 128],
      [[1 / 1000], 1 / 1024],
      [[30], 32],
      [[1], 1],
      [[1 / 8000], 1 / 8192],
    ]),
    ...rows<[number]>('2^(-k/3), third stops', 1e-12, [
      [[1 / 160], 2 ** (-22 / 3)],
      [[1 / 200], 2 ** (-23 / 3)],
      [[1 / 3], 2 ** (-5 / 3)],
      [[0.3], 2 ** (-5 / 3)],
    ]),
    ...rows<[number]>('2^(-k/2), times only the half scale has', 1e-12, [[[1 / 45], 2 ** (-11 / 2)]]),
  ]);
  checkTable(
    'exactIso',
    (s: number) => exactIso(s).exact,
    rows<[number]>('100 x 2^(k/3)', 5e-4, [
      [[160], 158.74],
      [[1250], 1269.921],
      [[100], 100],
      [[12800], 12800],
    ]),
  );
  it('written - exact in stops is what the published tables say, worst of the third-stop scale', () => {
    for (const [n, errorStops] of [
      [1.2, -0.141],
      [11, -0.081],
      [22, -0.081],
      [13, 0.068],
      [1.1, -0.058],
      [3.5, -0.052],
    ] as const)
      expect(avFromFNumber(n) - avFromFNumber(exactFNumber(n).exact)).toBeCloseTo(errorStops, 3);
    for (const [t, errorTv] of [
      [1 / 15, -0.093],
      [1 / 30, -0.093],
      [1 / 60, -0.093],
      [1 / 6, -0.082],
      [1 / 125, -0.034],
      [30, 0.093],
    ] as const)
      expect(tvFromSeconds(t) - tvFromSeconds(exactExposureTimeSeconds(t).exact)).toBeCloseTo(errorTv, 3);
    const halfTenth = exactExposureTimeSeconds(1 / 10, 'half').exact;
    expect(tvFromSeconds(1 / 10) - tvFromSeconds(halfTenth)).toBeCloseTo(-0.178, 3);
  });
  it('takes rounded spellings for the nominal value they spell', () => {
    expect(exactExposureTimeSeconds(0.0167).exact).toBe(1 / 64);
    expect(exactExposureTimeSeconds(0.006).exact).not.toBe(2 ** (-23 / 3));
    expect(exactFNumber(2.8001).exact).toBe(2 ** 1.5);
  });
  it.each([
    { fn: exactFNumber, value: 9.4 },
    { fn: exactFNumber, value: 0.95 },
    { fn: exactExposureTimeSeconds, value: 1 / 213.4 },
    { fn: exactExposureTimeSeconds, value: 47.3 },
    { fn: exactIso, value: 117 },
  ])('gives back $value, which is on no scale, as written', ({ fn, value }) => {
    expect(fn(value)).toEqual({ exact: value, scale: null });
  });
  it.each([
    { name: 'f-numbers', scales: [F_THIRD, F_HALF], perOctave: 2 },
    { name: 'times', scales: [T_THIRD, T_HALF], perOctave: 1 },
    { name: 'ISO speeds', scales: [ISO_THIRD, ISO_HALF], perOctave: 1 },
  ])('$name: no two written values are near enough to be mistaken for each other', ({ scales, perOctave }) => {
    const nominals = [...new Set(scales.flat().map(([nominal]) => nominal))].sort((a, b) => a - b);
    for (const [index, nominal] of nominals.slice(1).entries()) {
      const apart = perOctave * Math.log2(nominal / (nominals[index] ?? nominal));
      // 1/1.3 and 0.8, 1/1.6 and 0.6 are two spellings of one step.
      if (nominal !== 0.8 && nominal !== 1 / 1.6) expect(apart).toBeGreaterThan(2 * NOMINAL_TOLERANCE_STOPS);
    }
  });
  it('says which scale it found', () => {
    expect(exactFNumber(13).scale).toBe('third');
    expect(exactFNumber(13, 'half').scale).toBe('half');
    expect(exactFNumber(9.5).scale).toBe('half');
  });
  it('refuses 0 and NaN', () => {
    expect(() => exactFNumber(0)).toThrow(/fNumber/);
    expect(() => exactIso(Number.NaN)).toThrow(/iso/);
  });
});
