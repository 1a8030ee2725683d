import { describe, expect, it } from 'vitest';
import { uv1960FromXy, uv1976FromXy, xyFromUv1960, xyFromXyz, xyzFromXy } from '../../src/photometry/chromaticity.js';
import {
  colourTemperatureFromUv1960,
  kelvinFromXyMcCamy1992,
  miredFromKelvin,
  miredShift,
  uv1960FromMired,
} from '../../src/photometry/colour-temperature.js';
import { checkTable, rows } from '../support/check-table.js';

/** colour-science, temperature/tests/test_robertson1968.py: [kelvin, duv, u, v]. */
const ROBERTSON = [
  [2000, -0.05, 0.309448284638118, 0.309263824757947],
  [2000, -0.025, 0.307249142319059, 0.334166912378974],
  [2000, 0, 0.30505, 0.35907],
  [4500, -0.025, 0.233393122238719, 0.309269114669175],
  [4500, 0, 0.217331111111111, 0.328426666666667],
  [4500, 0.025, 0.201269099983503, 0.347584218664158],
  [7000, -0.05, 0.239763542240142, 0.279200871249525],
  [7000, 0, 0.198191428571429, 0.306981428571429],
  [7000, 0.025, 0.177405371737072, 0.32087170723238],
  [9500, 0.05, 0.14650168154947, 0.31733202457968],
  [12000, 0, 0.187866666666667, 0.287776666666667],
  [19500, -0.025, 0.207757250132674, 0.269657492602796],
  [34500, 0, 0.182003913043478, 0.270913043478261],
] as const;

describe('Robertson 1968', () => {
  it.each(ROBERTSON)('%d K at Duv %d is u %d, v %d', (kelvin, duv, u, v) => {
    const uv = uv1960FromMired(1e6 / kelvin, duv);
    expect(uv?.u).toBeCloseTo(u, 7);
    expect(uv?.v).toBeCloseTo(v, 7);
  });
  it.each(ROBERTSON)('and back: %d K, Duv %d', (kelvin, duv, u, v) => {
    const found = colourTemperatureFromUv1960({ u, v });
    // The source's own tolerance for this direction is 0.25 K.
    expect(Math.abs((found?.kelvin ?? 0) - kelvin)).toBeLessThanOrEqual(Math.max(0.25, kelvin * 2e-5));
    expect(found?.duv).toBeCloseTo(duv, 5);
    expect(found?.mired).toBeCloseTo(1e6 / kelvin, 2);
  });
  it('agrees with Ohno 2014 on (.1978, .3122): 6507.47 K, Duv .00322 (colour-science), within the table accuracy', () => {
    const found = colourTemperatureFromUv1960({ u: 0.1978, v: 0.3122 });
    expect(Math.abs((found?.mired ?? 0) - 1e6 / 6507.4748)).toBeLessThan(0.1);
    expect(found?.duv).toBeCloseTo(0.003223, 4);
  });
  it('names no temperature beyond the table, and none for NaN', () => {
    expect(colourTemperatureFromUv1960({ u: 0.5, v: 0.3 })).toBeNull();
    expect(colourTemperatureFromUv1960({ u: 0.1, v: 0.1 })).toBeNull();
    expect(colourTemperatureFromUv1960({ u: Number.NaN, v: 0.3 })).toBeNull();
    expect(uv1960FromMired(700, 0)).toBeNull();
  });
});

describe('McCamy 1992', () => {
  checkTable(
    'kelvinFromXyMcCamy1992',
    (x: number, y: number) => kelvinFromXyMcCamy1992({ x, y }),
    rows<[number, number]>('colour-science, test_mccamy1992', 1e-4, [
      [[0.3127, 0.329], 6505.08059131],
      [[0.44757, 0.40745], 2857.28961266],
      [[0.252520939374083, 0.252220883926284], 19501.6195313],
    ]),
  );
});

describe('mired and chromaticity', () => {
  checkTable(
    'miredShift',
    miredShift,
    rows<[number, number]>('10^6 / T', 5e-3, [
      [[5500, 6500], -27.97],
      [[3200, 5500], -130.68],
      [[5600, 5400], 6.61],
    ]),
  );
  it('5000 K is 200 mired', () => expect(miredFromKelvin(5000)).toBe(200));
  it('D65 in the uniform diagrams: u .1978, v .3122 (1960); v prime .4683 (1976), CIE 15', () => {
    const d65 = { x: 0.3127, y: 0.329 };
    expect(uv1960FromXy(d65).u).toBeCloseTo(0.1978, 4);
    expect(uv1960FromXy(d65).v).toBeCloseTo(0.3122, 4);
    expect(uv1976FromXy(d65).uPrime).toBeCloseTo(0.1978, 4);
    expect(uv1976FromXy(d65).vPrime).toBeCloseTo(0.4683, 4);
    const back = xyFromUv1960(uv1960FromXy(d65));
    expect(back.x).toBeCloseTo(0.3127, 12);
    expect(back.y).toBeCloseTo(0.329, 12);
  });
  it('black has no chromaticity', () => {
    expect(xyFromXyz({ x: 0, y: 0, z: 0 })).toBeNull();
    expect(xyFromXyz(xyzFromXy({ x: 0.3, y: 0.4 }, 0.2))?.x).toBeCloseTo(0.3, 12);
  });
});
