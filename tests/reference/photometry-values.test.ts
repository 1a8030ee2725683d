import { describe, expect, it } from 'vitest';
import { discAgainstPointStops, rectangleAgainstPointStops, discIlluminancePerLuminance, rectangleIlluminancePerLuminance } from '../../src/photometry/area-light.js'; // prettier-ignore
import { WHITE_D65 } from '../../src/photometry/chromaticity.js';
import { kelvinFromMired, kelvinFromXyMcCamy1992 } from '../../src/photometry/colour-temperature.js';
import { fallOffDownBody, levelOnAxisStops } from '../../src/photometry/fall-off-down-body.js';
import { type HungLight, type LightShape, illuminanceOnBody } from '../../src/photometry/hung-light.js';
import { labFromXyz } from '../../src/photometry/lab.js';
import { multiplyVector } from '../../src/photometry/matrix3.js';
import { leastSquaresCost, pelt } from '../../src/photometry/pelt.js';
import { DISPLAY_P3, ROMM_RGB, SRGB, bradfordAdaptation, luminanceRow, rgbToXyzD65Matrix, rgbToXyzMatrix } from '../../src/photometry/rgb-spaces.js'; // prettier-ignore
import { modifiedZScores } from '../../src/photometry/robust-statistics.js';
import { slopeWithinGroups } from '../../src/photometry/slope-within-groups.js';
import { knotToneCurve, logisticToneCurve, mapsTonesLocally, responseDoubtStops } from '../../src/photometry/tone-response.js'; // prettier-ignore

describe('spaces of colour', () => {
  it('luminance rows (Lindbloom, RGB/XYZ Matrices; from memory)', () => {
    const near = (row: readonly number[], wanted: readonly number[]): void => {
      wanted.forEach((value, i) => { expect(row[i]).toBeCloseTo(value, 4); }); // prettier-ignore
    };
    near(luminanceRow(SRGB), [0.2126, 0.7152, 0.0722]);
    near(luminanceRow(ROMM_RGB), [0.28804, 0.71187, 0.00009]);
    // IEC 61966-2-1:1999, the matrix as printed there.
    near(rgbToXyzMatrix(SRGB), [0.4124, 0.3576, 0.1805, 0.2126, 0.7152, 0.0722, 0.0193, 0.1192, 0.9505]);
  });

  it('the toe of ROMM RGB: 16 times as much below 1/512 (ISO 22028-2, from memory)', () => {
    expect(ROMM_RGB.toEncoded(0.001)).toBeCloseTo(0.016, 12);
    expect(ROMM_RGB.toLinear(0.016)).toBeCloseTo(0.001, 12);
    expect(ROMM_RGB.toEncoded(0.18)).toBeCloseTo(0.18 ** (1 / 1.8), 12);
    expect(ROMM_RGB.toLinear(0.18 ** (1 / 1.8))).toBeCloseTo(0.18, 12);
  });

  it('white stays white whatever white a space has: R = G = B = 1 is D65 after adaptation', () => {
    const d65 = [WHITE_D65.x / WHITE_D65.y, 1, (1 - WHITE_D65.x - WHITE_D65.y) / WHITE_D65.y];
    const halfOther = { ...SRGB, white: { x: WHITE_D65.x, y: 0.34 } };
    const otherHalf = { ...SRGB, white: { x: 0.32, y: WHITE_D65.y } };
    for (const space of [SRGB, DISPLAY_P3, ROMM_RGB, halfOther, otherHalf]) {
      multiplyVector(rgbToXyzD65Matrix(space), [1, 1, 1]).forEach((value, i) => {
        expect(value).toBeCloseTo(d65[i] as number, 10);
      });
    }
  });

  it('D50 to D65 by Bradford (Lindbloom, Chromatic Adaptation; from memory)', () => {
    const wanted = [0.95558, -0.02304, 0.06316, -0.0283, 1.00994, 0.02101, 0.0123, -0.02048, 1.32991];
    bradfordAdaptation(ROMM_RGB.white, WHITE_D65).forEach((value, i) => {
      expect(value).toBeCloseTo(wanted[i] as number, 3);
    });
  });

  it("L*a*b* of sRGB's red, whatever the unit of XYZ: 53.24, 80.09, 67.20 (Lindbloom's calculator, from memory)", () => {
    for (const unit of [1, 100]) {
      const red = labFromXyz(
        { x: 0.4124564 * unit, y: 0.2126729 * unit, z: 0.0193339 * unit },
        { x: 0.95047 * unit, y: unit, z: 1.08883 * unit },
      );
      expect(red.L).toBeCloseTo(53.24, 1);
      expect(red.a).toBeCloseTo(80.09, 1);
      expect(red.b).toBeCloseTo(67.2, 1);
    }
  });

  it('mired and kelvin are each million-fold reciprocals: 200 mired is 5000 K (definition)', () => {
    expect(kelvinFromMired(200)).toBe(5000);
  });

  it("McCamy's cubic has no answer where it is not positive or not finite", () => {
    expect(kelvinFromXyMcCamy1992({ x: 0.3127, y: 0.329 })).toBeCloseTo(6505, -1);
    // n = (x - 0.3320) / (0.1858 - y) = -10: 449 n^3 + 3525 n^2 + 6823.3 n + 5520.33 < 0.
    expect(kelvinFromXyMcCamy1992({ x: 0.274, y: 0.18 })).toBeNull();
    expect(kelvinFromXyMcCamy1992({ x: 0.4, y: 0.1858 })).toBeNull();
  });
});

describe('light on a body', () => {
  const SHAPES: LightShape[] = [
    { kind: 'point' },
    { kind: 'disc', radius: 0.45 },
    { kind: 'rectangle', width: 0.9, height: 1.2 },
  ];

  it('on the axis, by the closed forms: d^2, d^2 + R^2 (standard photometry), and the rectangle by integration', () => {
    const [point, disc, rectangle] = SHAPES as [LightShape, LightShape, LightShape];
    expect(levelOnAxisStops(point, 1, 2)).toBeCloseTo(-2, 12);
    expect(levelOnAxisStops(disc, 1, 2)).toBeCloseTo(Math.log2((1 + 0.45 ** 2) / (4 + 0.45 ** 2)), 12);
    const integrated = (d: number): number => {
      let sum = 0;
      const parts = 400;
      for (let i = 0; i < parts; i++)
        for (let j = 0; j < parts; j++) {
          const [x, y] = [((i + 0.5) / parts - 0.5) * 0.9, ((j + 0.5) / parts - 0.5) * 1.2];
          sum += (d * d) / (x * x + y * y + d * d) ** 2;
        }
      return sum;
    };
    expect(levelOnAxisStops(rectangle, 1, 2)).toBeCloseTo(Math.log2(integrated(2) / integrated(1)), 4);
  });

  it('against a point of the same area: the disc loses log2(1 + (R/d)^2), of any radius', () => {
    for (const radius of [0.25, 1, 2]) {
      expect(discAgainstPointStops(radius, 2)).toBeCloseTo(-Math.log2(1 + (radius / 2) ** 2), 12);
    }
    // Far away a rectangle is a point.
    expect(rectangleAgainstPointStops(0.5, 2, 100)).toBeCloseTo(0, 3);
  });

  it('integration holds to the closed forms for wide lights very near, level and straight ahead', () => {
    const on = (shape: LightShape): number =>
      illuminanceOnBody({ shape, distance: 0.5, raised: 0, aimDrop: 'level' }, 0);
    for (const radius of [0.1, 1, 2]) {
      expect(on({ kind: 'disc', radius }) / discIlluminancePerLuminance(radius, 0.5)).toBeCloseTo(1, 5);
    }
    for (const [width, height] of [[4, 0.2], [0.2, 4], [2, 3]] as const) {
      expect(on({ kind: 'rectangle', width, height }) / rectangleIlluminancePerLuminance(width, height, 0.5)).toBeCloseTo(1, 5);
    }
  }); // prettier-ignore

  it('geometry of a place on the body: 3-4-5', () => {
    // 1 m above the face, 4 m away: a place 2 m below the face is 3 m lower than the light.
    const light: HungLight = { shape: { kind: 'point' }, distance: 4, raised: 1, aimDrop: 0 };
    const [place, above] = fallOffDownBody(light, [2, -5]);
    expect(place).toMatchObject({ drop: 2, distance: 5 });
    expect(place?.incidenceDegrees).toBeCloseTo((Math.asin(3 / 5) * 180) / Math.PI, 10);
    expect(place?.fromFaceStops).toBeCloseTo(3 * Math.log2(Math.sqrt(17) / 5), 10);
    expect(above?.incidenceDegrees).toBeCloseTo(45, 10);
  });

  it('turned away it gives nothing, not less than nothing', () => {
    const away: HungLight = { shape: { kind: 'disc', radius: 0.05 }, distance: 1, raised: 3, aimDrop: -12 };
    expect(illuminanceOnBody(away, 0)).toBe(0);
  });
});

describe('robust slopes and scores', () => {
  it("error of a slope: Sen's ranks with Kendall's variance, 950 for n = 20 (Gilbert 1987, ch. 16, from memory)", () => {
    const xs = Array.from({ length: 20 }, (_, i) => i);
    const ys = xs.map((x) => Math.exp(x / 3));
    const slopes = xs.flatMap((a) => xs.filter((b) => b > a).map((b) => ((ys[b] as number) - (ys[a] as number)) / (b - a))); // prettier-ignore
    slopes.sort((a, b) => a - b);
    // 190 slopes, sqrt 950 = 30.82: the 79.59th and the 110.41st, counted from 1.
    const [low, high] = [slopes[80 - 1] as number, slopes[111 - 1] as number];
    expect(slopeWithinGroups([{ xs, ys }])?.standardError).toBeCloseTo((high - low) / 2, 10);
  });

  it('points at one x give no slope, and three pairs are enough', () => {
    expect(slopeWithinGroups([{ xs: [0, 0, 1, 2], ys: [0, 1, 2, 4] }])).toMatchObject({ slope: 2, pairs: 5 });
    expect(slopeWithinGroups([{ xs: [0, 1, 2], ys: [1, 3, 5] }])).toEqual({ slope: 2, standardError: 0, pairs: 3 });
  });

  it('scores by the mean deviation where more than half are equal: (x - median) / (1.2533 mean deviation) (Iglewicz & Hoaglin 1993)', () => {
    const scores = modifiedZScores([3, 3, 3, 3, 3, 3, 3, 8]);
    // Mean deviation 5 / 8.
    expect(scores[7]).toBeCloseTo(5 / (1.253314 * 0.625), 5);
    expect(scores.slice(0, 7)).toEqual([0, 0, 0, 0, 0, 0, 0]);
  });
});

describe('change points', () => {
  it('no rows, or one, have none; a penalty of 0 is taken', () => {
    expect(pelt({ rows: 0, cost: () => 7, penalty: 1 })).toEqual({ changePoints: [], objective: 0 });
    expect(pelt({ rows: 1, cost: () => 7, penalty: 1 })).toEqual({ changePoints: [], objective: 7 });
    expect(pelt({ rows: 3, cost: leastSquaresCost([[1, 2, 4]]), penalty: 0 }).objective).toBe(0);
  });

  it('a column that is missing altogether costs nothing', () => {
    const cost = leastSquaresCost([[1, 1, 5, 5], [null, null, null, null]]); // prettier-ignore
    expect(cost(0, 4)).toBeCloseTo(16, 10);
    expect(cost(0, 2)).toBe(0);
  });

  it('prunes: with changes all along, the work grows with the rows and not with their square (Killick et al. 2012, theorem 3.2)', () => {
    const callsFor = (rows: number): number => {
      const values = Array.from({ length: rows }, (_, i) => (Math.floor(i / 20) % 2) * 10 + ((i * 7) % 3) * 0.1);
      const cost = leastSquaresCost([values]);
      let calls = 0;
      const counted = (start: number, end: number): number => {
        calls += 1;
        return cost(start, end);
      };
      expect(pelt({ rows, cost: counted, penalty: 5, minimumRows: 3 }).changePoints).toHaveLength(rows / 20 - 1);
      return calls;
    };
    const [small, large] = [callsFor(400), callsFor(1600)];
    expect(large / small).toBeLessThan(4.5);
    expect(large).toBeLessThan(1600 * 40);
  }); // prettier-ignore
});

describe('tone responses', () => {
  it('with a veil, light weaker than the veil still shows, and comes back', () => {
    const veiled = logisticToneCurve({ shadowSlope: 1.5, shoulder: 0.8, ceilingLinear: 1.3, veilLinear: 0.002 });
    expect(veiled.toFile(0.001)).toBeGreaterThan(0);
    expect(veiled.toScene(veiled.toFile(0.001))).toBeCloseTo(0.001, 9);
    expect([veiled.toScene(0), veiled.toScene(-1), veiled.toFile(-0.002), veiled.toFile(-1)]).toEqual([0, 0, 0, 0]);
  });

  it('through knots: goes on beyond them with the end slopes, meets them, and is 0 at 0', () => {
    // Scene = 0.18 (file / 0.18)^2.
    const squared = knotToneCurve([0.09, 0.18, 0.36], [0.045, 0.18, 0.72]);
    for (const file of [0.02, 0.09, 0.12, 0.18, 0.36, 0.72]) {
      const scene = 0.18 * (file / 0.18) ** 2;
      expect(squared.toScene(file)).toBeCloseTo(scene, 10);
      expect(squared.toFile(scene)).toBeCloseTo(file, 10);
    }
    expect([squared.toScene(0), squared.toFile(0), squared.toScene(-0.1), squared.toFile(-0.1)]).toEqual([0, 0, 0, 0]);
    expect(squared.toFile(100)).toBe(1);
  });

  it.each(['assumed', 'calibrated', 'learned'])('a curve (%s) known no better than 0.35 stop maps tones locally', (source) => {
    expect(mapsTonesLocally({ source, uncertaintyStops: 0.35 })).toBe(true);
    expect(mapsTonesLocally({ source, uncertaintyStops: 0.349 })).toBe(false);
    expect(mapsTonesLocally({ source: 'linear-raw', uncertaintyStops: 0.35 })).toBe(false);
  }); // prettier-ignore

  it('doubt of a difference: per stop, and for the assumed curve the shoulder that a camera may not have', () => {
    expect(responseDoubtStops({ source: 'calibrated', uncertaintyStops: 0.05 }, 1, -1)).toBeCloseTo(0.1, 12);
    expect(responseDoubtStops({ source: 'calibrated', uncertaintyStops: 0.05 }, -1, 1)).toBeCloseTo(0.1, 12);
    expect(responseDoubtStops({ source: 'assumed', uncertaintyStops: 0.11 }, 0, -2)).toBeCloseTo(0.22, 12);
    // Naka & Rushton with slope 1.6 and ceiling 1.1 through mid-grey; a power law of slope 1.48 beside it; 90 % = 1.645 sigma.
    const x0 = 0.18 * (1.1 / 0.18 - 1) ** (1 / 1.6);
    const fileOf = (x: number): number => 1.1 / (1 + (x / x0) ** -1.6);
    const darker = (stops: number): number => stops - Math.log2(fileOf(0.18 * 2 ** stops) / 0.18) / 1.48;
    const doubt = responseDoubtStops({ source: 'assumed', uncertaintyStops: 0.11 }, 2, 1);
    expect(doubt).toBeCloseTo(Math.hypot(0.11, (darker(2) - darker(1)) / 1.645), 9);
    expect(responseDoubtStops({ source: 'assumed', uncertaintyStops: 0.11 }, 2, -1)).toBeCloseTo(Math.hypot(0.33, darker(2) / 1.645), 9);
  }); // prettier-ignore
});
