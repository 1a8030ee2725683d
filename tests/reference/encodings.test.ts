import { describe, expect, it } from 'vitest';
import { labFromXyz, linearFromLStar, lStarFromLinear } from '../../src/photometry/lab.js';
import {
  ADOBE_RGB_1998,
  DISPLAY_P3,
  ROMM_RGB,
  SRGB,
  luminanceRow,
  rgbToXyzD65Matrix,
  rgbToXyzMatrix,
} from '../../src/photometry/rgb-spaces.js';
import {
  linearToSrgbCode8,
  linearToSrgbCode8Rounded,
  linearToSrgbEncoded,
  srgbCode8ToLinear,
  srgbCodeTable,
} from '../../src/photometry/srgb.js';
import { levelStopsFromLinear, linearFromLevelStops } from '../../src/photometry/stops.js';
import { checkTable, rows } from '../support/check-table.js';

describe('sRGB (IEC 61966-2-1)', () => {
  checkTable(
    'linearToSrgbEncoded',
    linearToSrgbEncoded,
    rows<[number]>('colour-science, transfer_functions tests', 1e-12, [[[0.18], 0.461356129500442]]),
  );
  checkTable(
    'code at stops re 18 %',
    (stops: number) => linearToSrgbCode8(linearFromLevelStops(stops)),
    rows<[number]>('arithmetic on IEC 61966-2-1', 0.006, [
      [[-5], 17.04],
      [[-4], 27.45],
      [[-3], 41.34],
      [[-2], 59.87],
      [[-1], 84.62],
      [[-1 / 2], 99.94],
      [[-1 / 3], 105.56],
      [[0], 117.65],
      [[1 / 3], 130.95],
      [[1 / 2], 138.1],
      [[1], 161.73],
      [[1.5], 189.04],
      [[2], 220.59],
    ]),
  );
  checkTable(
    'level of a code',
    (code8: number) => levelStopsFromLinear(srgbCode8ToLinear(code8)),
    rows<[number]>('arithmetic on IEC 61966-2-1', 6e-5, [
      [[128], 0.2621],
      [[117], -0.017],
      [[118], 0.0093],
    ]),
  );
  checkTable(
    'srgbCode8ToLinear',
    srgbCode8ToLinear,
    rows<[number]>('arithmetic on IEC 61966-2-1', 5e-5, [
      [[188], 0.5029],
      [[255], 1],
      [[0], 0],
      [[1], 1 / 255 / 12.92],
    ]),
  );
  it('white stands 2.474 stops above 18 %', () => expect(levelStopsFromLinear(1)).toBeCloseTo(2.474, 3));
  it('rounds and clamps codes for files', () => {
    expect([-0.1, 0, 0.18, 1, 7].map(linearToSrgbCode8Rounded)).toEqual([0, 0, 118, 255, 255]);
  });
  it('tables hold every code, 8 and 16 bit', () => {
    expect(srgbCodeTable(255)).toHaveLength(256);
    expect(srgbCodeTable(65535)[65535]).toBe(1);
    expect(srgbCodeTable(65535)[257 * 188]).toBeCloseTo(srgbCode8ToLinear(188), 6);
  });
});

describe('RGB spaces', () => {
  it.each([
    { space: SRGB, row: [0.2126, 0.7152, 0.0722], tolerance: 5e-5, source: 'IEC 61966-2-1 / BT.709' },
    {
      space: ADOBE_RGB_1998,
      row: [0.29734, 0.62736, 0.07529],
      tolerance: 1e-5,
      source: 'colour-science, adobe_rgb_1998',
    },
    { space: DISPLAY_P3, row: [0.228975, 0.691739, 0.079287], tolerance: 1e-6, source: 'from the P3 primaries' },
    {
      space: ROMM_RGB,
      row: [0.288, 0.7119, 0.0001],
      tolerance: 1e-4,
      source: 'ISO 22028-2; its matrix was made with more digits of D50 than it prints',
    },
  ])('luminance row of $space.name ($source)', ({ space, row, tolerance }) => {
    for (const [index, weight] of luminanceRow(space).entries())
      expect(Math.abs(weight - (row[index] ?? 0))).toBeLessThanOrEqual(tolerance);
  });
  it('sRGB matrix is IEC 61966-2-1 to its four digits', () => {
    const printed = [0.4124, 0.3576, 0.1805, 0.2126, 0.7152, 0.0722, 0.0193, 0.1192, 0.9505];
    rgbToXyzMatrix(SRGB).forEach((value, index) => expect(value).toBeCloseTo(printed[index] ?? 0, 3.9));
  });
  it('ROMM matrix is ISO 22028-2 to its four digits', () => {
    const printed = [0.7977, 0.1352, 0.0313, 0.288, 0.7119, 0.0001, 0, 0, 0.8249];
    rgbToXyzMatrix(ROMM_RGB).forEach((value, index) =>
      expect(Math.abs(value - (printed[index] ?? 0))).toBeLessThanOrEqual(3e-4),
    );
  });
  it('white of every space becomes D65 white', () => {
    for (const space of [SRGB, ADOBE_RGB_1998, DISPLAY_P3, ROMM_RGB]) {
      const m = rgbToXyzD65Matrix(space);
      expect(m[0] + m[1] + m[2]).toBeCloseTo(0.3127 / 0.329, 9);
      expect(m[3] + m[4] + m[5]).toBeCloseTo(1, 9);
      expect(m[6] + m[7] + m[8]).toBeCloseTo((1 - 0.3127 - 0.329) / 0.329, 9);
    }
  });
  checkTable(
    '18 % as an Adobe RGB code at stops',
    (stops: number) => 255 * ADOBE_RGB_1998.toEncoded(linearFromLevelStops(stops)),
    rows<[number]>('arithmetic on gamma 563/256', 0.006, [
      [[0], 116.93],
      [[1], 160.25],
      [[-1], 85.32],
    ]),
  );
  checkTable(
    '18 % as a ROMM code at stops',
    (stops: number) => 255 * ROMM_RGB.toEncoded(linearFromLevelStops(stops)),
    rows<[number]>('colour-science rimm_romm_rgb tests: 98', 0.006, [
      [[0], 98.36],
      [[1], 144.56],
    ]),
  );
});

describe('CIE 1976 L*a*b*', () => {
  checkTable('lStarFromLinear', lStarFromLinear, [
    ...rows<[number]>('colour-science, test_lightness', 1e-10, [
      [[0.1219722535], 41.527875844653451],
      [[0.2304276781], 55.116362849525402],
      [[0.0615720079], 29.805654680097106],
    ]),
    ...rows<[number]>('arithmetic on CIE 15', 6e-5, [
      [[0.18], 49.4961],
      [[0.36], 66.5199],
      [[0.09], 35.9843],
      [[0.9], 95.9968],
    ]),
  ]);
  it('L* 50 is 18.4187 %', () => expect(linearFromLStar(50)).toBeCloseTo(0.184187, 6));
  it('is continuous at the join, L* 8 exactly (kappa x epsilon)', () => {
    expect(lStarFromLinear(216 / 24389)).toBeCloseTo(8, 12);
    expect(linearFromLStar(8)).toBeCloseTo(216 / 24389, 15);
  });
  it('greys have no a* or b*', () => {
    const white = { x: 0.95047, y: 1, z: 1.08883 };
    const { a, b } = labFromXyz({ x: white.x * 0.2, y: 0.2, z: white.z * 0.2 }, white);
    expect(a).toBeCloseTo(0, 12);
    expect(b).toBeCloseTo(0, 12);
  });
});
