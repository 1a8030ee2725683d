import { describe, expect, it } from 'vitest';
import {
  avFromFNumber,
  bvFromApex,
  ev100FromApex,
  ev100FromIlluminance,
  ev100FromLuminance,
  ev100FromSettings,
  fNumberForEv100,
  illuminanceFromEv100,
  isoFromSv,
  luminanceFromEv100,
  svFromIso,
  tvFromSeconds,
} from '../../src/photometry/apex.js';
import { predictedChangeStops } from '../../src/photometry/predicted-change.js';
import { checkTable, rows } from '../support/check-table.js';

const settings = (fNumber: number, exposureTimeSeconds: number, iso: number) =>
  ev100FromSettings({ fNumber, exposureTimeSeconds, iso });

describe('APEX', () => {
  checkTable('ev100FromSettings', settings, [
    ...rows<[number, number, number]>('colour-hdri, exposure/tests (ISO 12232:2006)', 5e-9, [
      [[8, 1 / 250, 100], 13.96578428],
      [[5.6, 1 / 500, 800], 10.93663794],
      [[2.8, 1 / 1000, 1600], 8.93663794],
    ]),
    ...rows<[number, number, number]>('GNU units, definitions.units, Photographic Exposure Value', 5e-7, [
      [[16, 1 / 100, 100], 14.643856],
    ]),
  ]);
  checkTable('tvFromSeconds', tvFromSeconds, [
    ...rows<[number]>('GNU units: Tv of 60 s', 5e-8, [[[60], -5.9068906]]),
    ...rows<[number]>('Exif 2.2 Annex C: nominal 30 s to 1/2000 are Tv -5 to 11 at their exact values', 0, [
      [[32], -5],
      [[1], 0],
      [[1 / 64], 6],
      [[1 / 2048], 11],
    ]),
    ...rows<[number]>('Exif tag table: ShutterSpeedValue of 1/125 s is 696578/100000', 5e-6, [[[1 / 125], 6.96578]]),
  ]);
  checkTable('avFromFNumber', avFromFNumber, [
    ...rows<[number]>('Exif 2.2 Annex C: f/1 to f/32 are Av 0 to 10', 1e-12, [
      [[1], 0],
      [[2], 2],
      [[8], 6],
      [[32], 10],
    ]),
    ...rows<[number]>('Exif tag table: ApertureValue of f/2.8 is 29708/10000, cut off', 1e-4, [[[2.8], 2.9708]]),
  ]);
  checkTable(
    'svFromIso',
    svFromIso,
    rows<[number]>('Sv = log2(S / 3.125), Exif 2.3 constant', 5e-5, [
      [[100], 5],
      [[25], 3],
      [[160], 5.6781],
      [[64], 4.3561],
    ]),
  );
  it('f/8, 1/125 s, ISO 100: Av 6, Tv 6.9658, Sv 5, EV100 12.9658, Bv 7.9658', () => {
    const [av, tv, sv] = [avFromFNumber(8), tvFromSeconds(1 / 125), svFromIso(100)];
    expect(tv).toBeCloseTo(6.9658, 4);
    expect(ev100FromApex(av, tv, sv)).toBeCloseTo(12.9658, 4);
    expect(bvFromApex(av, tv, sv)).toBeCloseTo(7.9658, 4);
  });
  it('isoFromSv undoes svFromIso', () => expect(isoFromSv(svFromIso(640))).toBeCloseTo(640, 9));
  it('meter table: L = 2^(n-3) cd/m2 at K 12.5, E = 2.5 x 2^n lx at C 250 (encyclopaedia, Exposure value, table)', () => {
    const table = [
      [0, 0.125, 2.5],
      [3, 1, 20],
      [8, 32, 640],
      [12, 512, 10240],
      [15, 4096, 81920],
    ] as const;
    for (const [ev100, luminance, illuminance] of table) {
      expect(luminanceFromEv100(ev100)).toBeCloseTo(luminance, 9);
      expect(illuminanceFromEv100(ev100)).toBeCloseTo(illuminance, 9);
      expect(ev100FromLuminance(luminance)).toBeCloseTo(ev100, 12);
      expect(ev100FromIlluminance(illuminance)).toBeCloseTo(ev100, 12);
    }
  });
  checkTable(
    'luminanceFromEv100 of settings',
    (n: number, t: number, s: number) => luminanceFromEv100(settings(n, t, s)),
    [
      ...rows<[number, number, number]>('GNU units: f/16, 1/100, ISO 100 at K 12.5', 1e-6, [
        [[16, 1 / 100, 100], 3200],
      ]),
      ...rows<[number, number, number]>('colour-hdri, exposure/tests', 5e-9, [
        [[2.8, 1 / 8, 100], 7.84],
        [[5.6, 1 / 2, 800], 0.98],
        [[8, 1, 16000], 0.05],
      ]),
    ],
  );
  it('fNumberForEv100 gives back the f-number', () =>
    expect(fNumberForEv100(settings(5.6, 1 / 125, 200), 1 / 125, 200)).toBeCloseTo(5.6, 12));
});

describe('predicted change', () => {
  const base = { av: 6, tv: 7, sv: 5 };
  it.each([
    { to: { av: 5, tv: 7, sv: 5 }, weight: 1, expected: 1, why: 'one stop wider' },
    { to: { av: 6, tv: 8, sv: 5 }, weight: 1, expected: -1, why: 'half the time, continuous light' },
    { to: { av: 6, tv: 8, sv: 5 }, weight: 0, expected: 0, why: 'half the time, flash' },
    { to: { av: 6, tv: 7, sv: 6 }, weight: 0, expected: 1, why: 'twice the speed' },
    { to: { av: 7, tv: 6, sv: 5 }, weight: 1, expected: 0, why: 'compensated' },
    { to: { av: 7, tv: 6, sv: 5 }, weight: 0, expected: -1, why: 'not compensated for flash' },
  ])('$why: $expected', ({ to, weight, expected }) => {
    expect(predictedChangeStops(base, to, weight)).toBeCloseTo(expected, 12);
  });
  it('needs no time at weight 0, and is null when a value that counts is missing', () => {
    expect(predictedChangeStops({ ...base, tv: null }, base, 0)).toBe(0);
    expect(predictedChangeStops({ ...base, tv: null }, base, 1)).toBeNull();
    expect(predictedChangeStops({ ...base, av: null }, base, 0)).toBeNull();
  });
  it('refuses a weight outside 0..1', () => {
    expect(() => predictedChangeStops(base, base, 1.5)).toThrow(/shutterWeight/);
    expect(() => predictedChangeStops(base, base, Number.NaN)).toThrow(/shutterWeight/);
  });
});
