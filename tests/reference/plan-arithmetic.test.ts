import { describe, expect, it } from 'vitest';
import { rectangleIlluminancePerLuminance } from '../../src/photometry/area-light.js';
import { changeOnFaceStops, fallOffDownBody } from '../../src/photometry/fall-off-down-body.js';
import { guideNumberAtIso100, nearestPowerSetting, powerForGuideNumber } from '../../src/photometry/flash-power.js';
import { gaussLegendre } from '../../src/photometry/gauss-legendre.js';
import { type HungLight, type LightShape, illuminanceOnBody } from '../../src/photometry/hung-light.js';
import { nearestExposureTimeSeconds, nearestFNumber, nearestIso } from '../../src/photometry/nearest-nominal.js';
import { belowFace } from '../../src/plan/body-places.js';
import { planGuide } from '../../src/plan/guide.js';
import { planMeter } from '../../src/plan/meter.js';
import { planMove } from '../../src/plan/move.js';
import { planRatio } from '../../src/plan/ratio.js';
import { planTrade } from '../../src/plan/trade.js';
import { checkTable, rows } from '../support/check-table.js';

const disc = (radius: number): LightShape => ({ kind: 'disc', radius });
const rectangle = (width: number, height: number): LightShape => ({ kind: 'rectangle', width, height });
const level = (shape: LightShape, distance: number, raised = 0): HungLight => ({
  shape,
  distance,
  raised,
  aimDrop: 'level',
});

describe('Gauss-Legendre', () => {
  const five = gaussLegendre(5);
  checkTable(
    'node',
    (i: number) => five.nodes[i] ?? null,
    rows<[number]>('Abramowitz & Stegun, table 25.4, n = 5', 1e-14, [
      [[2], 0],
      [[3], 0.538469310105683],
      [[4], 0.906179845938664],
    ]),
  );
  checkTable(
    'weight',
    (i: number) => five.weights[i] ?? null,
    rows<[number]>('Abramowitz & Stegun, table 25.4, n = 5', 1e-14, [
      [[2], 0.568888888888889],
      [[3], 0.478628670499366],
      [[4], 0.236926885056189],
    ]),
  );
  it.each([12, 40, 160])('%d weights add to 2', (count) =>
    expect(gaussLegendre(count).weights.reduce((sum, weight) => sum + weight, 0)).toBeCloseTo(2, 12),
  );
});

describe('light on an upright surface, integrated', () => {
  checkTable(
    'rectangle straight ahead',
    (width: number, height: number, distance: number) =>
      illuminanceOnBody(level(rectangle(width, height), distance), 0),
    rows<[number, number, number]>('Lambertian rectangle on its axis, closed form as tabulated', 6e-7, [
      [[1, 1, 0.5], 1.74084],
      [[1, 1, 1], 0.752275],
      [[1, 1, 2], 0.230837],
      [[1, 1, 5], 0.039474],
      [[0.6, 0.9, 1], 0.453048],
      [[0.9, 1.2, 1.5], 0.412051],
    ]),
  );
  checkTable(
    'disc straight ahead against the point law, stops',
    (radius: number, distance: number) =>
      Math.log2((illuminanceOnBody(level(disc(radius), distance), 0) * distance ** 2) / (Math.PI * radius ** 2)),
    rows<[number, number]>('Lambertian disc on its axis, d^2 / (d^2 + R^2)', 6e-4, [
      [[1, 1], -1],
      [[1, 2], -0.322],
      [[1, 4], -0.0875],
      [[1, 5], -0.0566],
      [[1, 10], -0.0144],
      [[1, 20], -0.0036],
    ]),
  );

  // Plane element to a disc in a parallel plane, centre r to the side at height h: F = (1 - (Z - 2 R^2) /
  // sqrt(Z^2 - 4 R^2)) / 2 with H = h / r, R = radius / r, Z = 1 + H^2 + R^2; E = pi L F. Configuration factor
  // catalogues, from memory.
  it.each([
    [0.6, 1.5, 1.5],
    [0.6, 2, 0.8],
    [0.3, 1, 0.1],
    [0.9, 1, 1.5],
    [0.6, 4, 1.5],
  ])('disc of radius %d at %d, %d off its axis: the configuration factor', (radius, distance, drop) => {
    const [h, r] = [distance / drop, radius / drop];
    const z = 1 + h * h + r * r;
    const factor = (1 - (z - 2 * r * r) / Math.sqrt(z * z - 4 * r * r)) / 2;
    expect(illuminanceOnBody(level(disc(radius), distance), drop) / (Math.PI * factor)).toBeCloseTo(1, 6);
  });

  // Lambert's polygon formula (Photometria 1760): E = L / 2 x the sum over edges of the angle the edge subtends
  // times the component of the edge's normal plane along the surface's normal. No integration in it.
  it.each([
    [rectangle(0.9, 1.2), 1.5, 0.6, 0, 0],
    [rectangle(0.9, 1.2), 1.5, 0.6, 0, 1.5],
    [rectangle(0.9, 1.2), 1.5, 0.6, 0.9, 1.5],
    [rectangle(1.2, 0.4), 1, 0, 'level', 1.2],
    [rectangle(0.6, 0.9), 3, 1, 1.4, 0.6],
  ] as const)(
    '%o at %d, raised %d, aimed %s: %d below the face as by the polygon formula',
    (shape, d, raised, aim, drop) => {
      const light: HungLight = { shape, distance: d, raised, aimDrop: aim };
      expect(illuminanceOnBody(light, drop) / byPolygon(shape, light, drop)).toBeCloseTo(1, 6);
    },
  );
  it('the polygon formula itself gives the closed form on the axis', () => {
    const shape = rectangle(0.9, 1.2);
    expect(byPolygon(shape, level(shape, 1.5), 0) / rectangleIlluminancePerLuminance(0.9, 1.2, 1.5)).toBeCloseTo(1, 12);
  });
  it('refuses a light that would reach into the body', () => {
    expect(() => illuminanceOnBody({ shape: rectangle(1, 3), distance: 1, raised: 2, aimDrop: 0 }, 0)).toThrow(
      /in front of the body/,
    );
    expect(() => illuminanceOnBody(level(disc(0), 1), 0)).toThrow(/radius/);
    expect(() => illuminanceOnBody(level({ kind: 'point' }, 0), 0)).toThrow(/distance/);
  });
});

type Vector = readonly [number, number, number];

function byPolygon(shape: LightShape, light: HungLight, drop: number): number {
  if (shape.kind !== 'rectangle') throw new Error('a rectangle is expected');
  const fall = light.aimDrop === 'level' ? 0 : Math.atan2(light.raised + light.aimDrop, light.distance);
  const corner = (s: number, t: number): Vector => [
    (s * shape.width) / 2,
    light.raised + drop + ((t * shape.height) / 2) * Math.cos(fall),
    light.distance - ((t * shape.height) / 2) * Math.sin(fall),
  ];
  const corners = [corner(-1, -1), corner(-1, 1), corner(1, 1), corner(1, -1)];
  let sum = 0;
  corners.forEach((a, i) => {
    const b = corners[(i + 1) % 4] ?? a;
    const cross: Vector = [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
    const length = Math.hypot(...cross);
    sum += (Math.atan2(length, a[0] * b[0] + a[1] * b[1] + a[2] * b[2]) * cross[2]) / length;
  });
  return Math.abs(sum) / 2;
}

describe('fall-off down the body', () => {
  const down = (shape: LightShape, distance: number, drop: number): number | null =>
    fallOffDownBody(level(shape, distance), [drop])[0]?.fromFaceStops ?? null;
  checkTable(
    'bare',
    (distance: number, drop: number) => down({ kind: 'point' }, distance, drop),
    rows<[number, number]>('inverse square and cosine: cos^3', 6e-3, [
      [[1.5, 1.5], -1.5],
      [[2, 1.5], -0.97],
      [[3, 1.5], -0.48],
      [[4, 1.5], -0.29],
      [[6, 1.5], -0.13],
      [[1.5, 0.8], -0.54],
      [[2, 0.8], -0.32],
      [[3, 0.8], -0.15],
    ]),
  );
  checkTable(
    'small panel, straight ahead',
    (distance: number, drop: number) => down(rectangle(0.02, 0.02), distance, drop),
    rows<[number, number]>('and the cosine of the emission: cos^4', 6e-3, [
      [[1.5, 1.5], -2],
      [[2, 1.5], -1.29],
      [[3, 1.5], -0.64],
      [[4, 1.5], -0.38],
      [[6, 1.5], -0.18],
    ]),
  );
  checkTable(
    'incidence to stops',
    (degrees: number) => {
      const drop = Math.tan((degrees * Math.PI) / 180);
      const at = fallOffDownBody(level({ kind: 'point' }, 1), [drop])[0];
      expect(at?.incidenceDegrees).toBeCloseTo(degrees, 9);
      // Without the longer way only the cosine is left.
      return (at?.fromFaceStops ?? Number.NaN) + 2 * Math.log2(at?.distance ?? Number.NaN);
    },
    rows<[number]>('cosine law', 6e-4, [
      [[15], -0.05],
      [[30], -0.208],
      [[45], -0.5],
      [[60], -1],
    ]),
  );
  it('pointing a panel lower lifts the legs against the face, and moving back flattens', () => {
    const at = (distance: number, aimDrop: number): number =>
      fallOffDownBody({ shape: rectangle(0.9, 1.2), distance, raised: 0.5, aimDrop }, [1.4])[0]?.fromFaceStops ?? NaN;
    expect(at(1.5, 1)).toBeGreaterThan(at(1.5, 0) + 0.1);
    expect(at(3, 0)).toBeGreaterThan(at(1.5, 0) + 0.5);
  });
  it('tells a place behind the face of the light as dark, and a light that misses the face as no use', () => {
    const upward: HungLight = { shape: rectangle(0.2, 0.2), distance: 0.3, raised: -1, aimDrop: 0 };
    expect(fallOffDownBody(upward, [1.7])[0]?.fromFaceStops).toBeNull();
    const away: HungLight = { shape: rectangle(0.2, 0.2), distance: 0.3, raised: -0.7, aimDrop: 1.5 };
    expect(() => fallOffDownBody(away, [1])).toThrow(/reaches the face/);
  });
  it('a person of 1.75 m has the ankles 1.5 m below the face (Drillis & Contini 1966, from memory)', () =>
    expect(belowFace('ankle', 1.75)).toBeCloseTo(1.51, 2));
});

describe('moving a light', () => {
  checkTable(
    'bare, level with the face',
    (from: number, to: number) => changeOnFaceStops(level({ kind: 'point' }, from), level({ kind: 'point' }, to)),
    rows<[number, number]>('inverse square, IES 9.1.1', 6e-4, [
      [[1, 2], -2],
      [[2, 3], -1.17],
      [[4, 5], -0.644],
      [[1.5, 1.8], -0.526],
    ]),
  );
  checkTable(
    'round, level with the face',
    (radius: number, from: number, to: number) => changeOnFaceStops(level(disc(radius), from), level(disc(radius), to)),
    rows<[number, number, number]>('doubling the distance of a disc, arithmetic', 6e-4, [
      [[1, 0.5, 1], -0.678],
      [[1, 1, 2], -1.322],
      [[1, 2, 4], -1.766],
      [[1, 4, 8], -1.935],
    ]),
  );
  it('2 m to 4 m costs a bare light 2 stops: 6 steps, 1/8 to 1/2, or two stops of aperture', () => {
    const place = { raisedMetres: 0, aim: 'face', statureMetres: 1.7, belowFaceMetres: [1.5] } as const;
    const answer = planMove({
      before: { shape: { kind: 'point' }, distanceMetres: 2, ...place },
      toDistanceMetres: 4,
      toRaisedMetres: 0,
      powerShare: 1 / 8,
      exactFNumber: 8,
      light: 'flash',
    });
    expect(answer.faceChangeStops).toBeCloseTo(-2, 12);
    expect(answer.turn).toMatchObject({ direction: 'up', thirdStopSteps: 6 });
    expect(answer.power?.toShare).toBeCloseTo(1 / 2, 12);
    expect(answer.power).toMatchObject({
      setting: { wholeStopShare: 0.5, extraThirdStopSteps: 0 },
      beyondFullStops: null,
    });
    expect(answer.insteadAperture?.fNumber).toBe(4);
    // Rows of the table above: -0.97 at 2 m, -0.29 at 4 m.
    expect(answer.places[1]?.changeStops).toBeCloseTo(0.68, 1);
    expect(answer.cautions.join(' ')).toMatch(/stand.*eyes.*Local rules/s);
  });
  it('a raised light is held by a safety cable; local rules have the last word', () => {
    const before = {
      shape: disc(0.5),
      distanceMetres: 2,
      raisedMetres: 0,
      aim: 'face',
      statureMetres: 1.7,
      belowFaceMetres: null,
    } as const;
    const move = { before, toDistanceMetres: 2, toRaisedMetres: 1, powerShare: null, exactFNumber: null, light: null };
    const { cautions } = planMove(move);
    expect(cautions.join(' ')).toMatch(/safety cable/);
    expect(cautions.at(-1)).toMatch(/^Local rules and the advice of qualified people/);
    expect(planMove({ ...move, toRaisedMetres: 0 }).cautions.join(' ')).not.toMatch(/safety cable/);
  });
});

describe('meter to target', () => {
  it.each([
    // exact reading, exact target, stops, third-stop steps: full and third f-number scales, 2^(k/2) and 2^(k/6)
    [8, 8 * Math.SQRT2, 1, 3],
    [8, 4, -2, -6],
    [8, 2 ** (19 / 6), 1 / 3, 1],
    [2 ** 2.5, 2 ** (17 / 6), 2 / 3, 2],
  ])('%d to %d is %d stops', (reading, target, stops, steps) => {
    const answer = planMeter({
      reading: { exactFNumber: reading },
      targetExactFNumber: target,
      exactIso: 100,
      powerShare: 1 / 4,
      light: 'flash',
    });
    expect(answer.turn.turnStops).toBeCloseTo(stops, 12);
    expect(answer.turn.thirdStopSteps).toBe(steps);
    expect(answer.power?.toShare).toBeCloseTo(2 ** stops / 4, 12);
    expect(answer.insteadIso?.exactIso).toBeCloseTo(100 * 2 ** stops, 9);
  });
  it.each([
    // N^2 / t = E S / C (ISO 2720:1974); 2560 lx is EV 10 at C 250 (encyclopaedia, Exposure value, table); 340 in use for domes.
    [2560, null, 1 / 64, 100, 4],
    [2560, null, 1 / 64, 400, 8],
    [3481.6, 340, 1 / 64, 100, 4],
  ])(
    '%d lx by a constant of %s, %d s, ISO %d, is f/%d',
    (lux, meterConstantC, exactExposureTimeSeconds, exactIso, n) => {
      const answer = planMeter({
        reading: { lux, meterConstantC, exactExposureTimeSeconds, exactIso },
        targetExactFNumber: n * Math.SQRT2,
        exactIso: null,
        powerShare: null,
        light: 'continuous',
      });
      expect(answer.metered.exactFNumber).toBeCloseTo(n, 12);
      expect(answer.metered).toMatchObject({ lux, meterConstantC: meterConstantC ?? 250 });
      expect(answer.metered.ev100).toBeCloseTo(10, 12);
      expect(answer.turn.thirdStopSteps).toBe(3);
    },
  );
  checkTable(
    'f-number of an EV at ISO 100',
    (ev100: number, exactExposureTimeSeconds: number, exactIso: number) =>
      planMeter({
        reading: { ev100, exactExposureTimeSeconds, exactIso },
        targetExactFNumber: 8,
        exactIso: null,
        powerShare: null,
        light: null,
      }).metered.exactFNumber,
    [
      ...rows<[number, number, number]>('published EV100 of f/8, 1/250 s, ISO 100, inverted', 1e-6, [
        [[13.96578428, 1 / 250, 100], 8],
      ]),
      ...rows<[number, number, number]>('published EV100 of f/5.6, 1/500, ISO 800 and f/2.8, 1/1000, ISO 1600', 1e-6, [
        [[10.93663794, 1 / 500, 800], 5.6],
        [[8.93663794, 1 / 1000, 1600], 2.8],
      ]),
      ...rows<[number, number, number]>('EV 14.643856 of f/16, 1/100, ISO 100', 1e-5, [
        [[14.643856, 1 / 100, 100], 16],
      ]),
    ],
  );
  it('only turning a light up calls for cautions, and beyond full power is told', () => {
    const question = { reading: { exactFNumber: 8 }, exactIso: null, powerShare: 1, light: 'flash' } as const;
    expect(planMeter({ ...question, targetExactFNumber: 4 }).cautions).toEqual([]);
    const up = planMeter({ ...question, targetExactFNumber: 16 });
    expect(up.cautions.length).toBeGreaterThan(0);
    expect(up.power).toMatchObject({ setting: null, toShare: 4, beyondFullStops: 2 });
  });
});

describe('nearest engraved value', () => {
  checkTable(
    'nearestFNumber',
    (exact: number) => nearestFNumber(exact)?.nominal ?? null,
    rows<[number]>('f-number scales 2^(k/6) and 2^(k/4)', 0, [
      [[11.3137], 11],
      [[5.6569], 5.6],
      [[3.5636], 3.5],
      [[12.6992], 13],
      [[9.5137], 9.5],
      [[6.7272], 6.7],
    ]),
  );
  checkTable(
    'nearestExposureTimeSeconds',
    (exact: number) => nearestExposureTimeSeconds(exact)?.nominal ?? null,
    rows<[number]>('shutter scale 2^(-k/3)', 0, [
      [[1 / 64], 1 / 60],
      [[1 / 128], 1 / 125],
      [[1 / 1024], 1 / 1000],
      [[32], 30],
    ]),
  );
  checkTable(
    'nearestIso',
    (exact: number) => nearestIso(exact)?.nominal ?? null,
    rows<[number]>('ISO scale 100 x 2^(k/3)', 0, [
      [[158.74], 160],
      [[1269.921], 1250],
      [[63], 64],
    ]),
  );
  it('there is none off the scale', () => {
    expect(nearestFNumber(0.5)).toBeNull();
    expect(nearestExposureTimeSeconds(90)).toBeNull();
    expect(nearestIso(3)).toBeNull();
  });
});

describe('exposure trades', () => {
  const from = { fNumber: 8, exposureTimeSeconds: 1 / 128, iso: 100 };
  it('continuous light: the APEX sum Av + Tv - Sv stays, whatever keeps it', () => {
    const { rows: ladder } = planTrade({ from, to: {}, light: 'continuous', syncSeconds: null });
    expect(ladder.length).toBeGreaterThan(8);
    for (const row of ladder) {
      const ev = Math.log2(row.exactFNumber ** 2 / row.exactExposureTimeSeconds) - Math.log2(row.exactIso / 100);
      expect(ev).toBeCloseTo(13, 9);
      expect(row.levelChangeStops).toBe(0);
    }
  });
  it.each([
    // the classic equivalents of f/8 at 1/125: full-stop scales
    [4 * Math.SQRT2, 1 / 250],
    [4, 1 / 500],
    [8 * Math.SQRT2, 1 / 60],
    [16, 1 / 30],
  ])('f/%d goes with %d s', (fNumber, nominalSeconds) => {
    const { rows: traded } = planTrade({ from, to: { fNumber, iso: 100 }, light: 'continuous', syncSeconds: null });
    expect(traded).toHaveLength(1);
    expect(traded[0]?.exposureTimeSeconds).toBeCloseTo(nominalSeconds, 12);
  });
  it('flash: the shutter changes nothing of it up to the sync speed, and never keeps it', () => {
    const sync = { light: 'flash', syncSeconds: 2 ** (-23 / 3) } as const;
    const slower = planTrade({ from, to: { exposureTimeSeconds: 1 / 32 }, ...sync });
    expect(slower.rows).toHaveLength(1);
    expect(slower.rows[0]).toMatchObject({ keptBy: null, levelChangeStops: 0, continuousChangeStops: 2 });
    expect(slower.notes.join(' ')).toMatch(/shutter does nothing to the flash/);
    const faster = planTrade({ from, to: { exposureTimeSeconds: 1 / 512 }, ...sync });
    expect(faster.rows[0]).toMatchObject({ fasterThanSync: true, levelChangeStops: null });
    const wider = planTrade({ from, to: { fNumber: 4 }, ...sync });
    expect(wider.rows.map((row) => row.keptBy)).toEqual(['iso', 'power']);
    expect(wider.rows[0]).toMatchObject({ iso: 25, continuousChangeStops: 0 });
    expect(wider.rows[1]).toMatchObject({ powerStops: -2, continuousChangeStops: 2, levelChangeStops: 0 });
  });
  it('all three told: what it comes to', () => {
    const to = { fNumber: 4, exposureTimeSeconds: 1 / 256, iso: 200 };
    expect(planTrade({ from, to, light: 'continuous', syncSeconds: null }).rows).toMatchObject([
      { keptBy: null, levelChangeStops: 2 },
    ]);
  });
});

describe('guide number', () => {
  const ask = { guideIso: 100, exactIso: 100, distanceMetres: null, exactFNumber: null, powerShare: null };
  it('32 m at 4 m is f/8, 45 m at 5 m is f/9 (makers, dictionary); 32 m is 105 ft', () => {
    const answer = planGuide({ ...ask, guideNumberMetres: 32, distanceMetres: 4 });
    expect(answer).toMatchObject({ solvedFor: 'aperture', aperture: { fNumber: 8 } });
    expect(answer.guideNumberFeet).toBeCloseTo(105, 0);
    expect(planGuide({ ...ask, guideNumberMetres: 45, distanceMetres: 5 }).aperture.fNumber).toBe(9);
    expect(planGuide({ ...ask, guideNumberMetres: 32, exactFNumber: 8 }).distanceMetres).toBe(4);
  });
  checkTable(
    'distance at f/1 by power, guide number 1',
    (powerShare: number) => planGuide({ ...ask, guideNumberMetres: 1, exactFNumber: 1, powerShare }).distanceMetres,
    rows<[number]>('guide number x sqrt(power)', 6e-5, [
      [[1 / 2], 0.7071],
      [[1 / 4], 0.5],
      [[1 / 8], 0.3536],
      [[1 / 16], 0.25],
      [[1 / 64], 0.125],
      [[1 / 128], 0.0884],
    ]),
  );
  it('the power for an aperture, beyond full too, and what all three come to', () => {
    expect(powerForGuideNumber(32, 4, 4, 100)).toBe(1 / 4);
    expect(powerForGuideNumber(32, 8, 4, 400)).toBe(1 / 4);
    const weak = planGuide({ ...ask, guideNumberMetres: 16, distanceMetres: 4, exactFNumber: 8 });
    expect(weak).toMatchObject({ solvedFor: 'power', powerShare: 4, setting: null, beyondFullStops: 2 });
    const all = planGuide({ ...ask, guideNumberMetres: 32, distanceMetres: 4, exactFNumber: 4, powerShare: 1 });
    expect(all).toMatchObject({ solvedFor: 'difference', differenceStops: 2 });
  });
  it('told for ISO 400 it is twice that of ISO 100', () => expect(guideNumberAtIso100(64, 400)).toBe(32));
  it('powers are named as they are set', () => {
    expect(nearestPowerSetting(1)).toEqual({ wholeStopShare: 1, extraThirdStopSteps: 0 });
    expect(nearestPowerSetting(1 / 16)).toEqual({ wholeStopShare: 1 / 16, extraThirdStopSteps: 0 });
    expect(nearestPowerSetting(2 ** (-5 / 3))).toEqual({ wholeStopShare: 1 / 4, extraThirdStopSteps: 1 });
    expect(nearestPowerSetting(2)).toBeNull();
  });
  it('refuses neither distance nor aperture', () =>
    expect(() => planGuide({ ...ask, guideNumberMetres: 32 })).toThrow(/--distance, --aperture/));
});

describe('lighting ratio', () => {
  const ask = {
    keyExactFNumber: null,
    fillExactFNumber: null,
    litExactFNumber: null,
    shadowExactFNumber: null,
    wanted: null,
    light: null,
  };
  it('key a stop over the fill is 3:1 additive and 2:1 source (portrait convention; both definitions)', () => {
    const answer = planRatio({ ...ask, keyExactFNumber: 8, fillExactFNumber: 4 * Math.SQRT2 });
    expect(answer.additiveRatio).toBeCloseTo(3, 12);
    expect(answer.sourceRatio).toBeCloseTo(2, 12);
    expect(answer.highlightToShadowStops).toBeCloseTo(1.585, 3);
  });
  it('two stops between key and fill: 4:1 source, 5:1 additive (encyclopaedia, old and current)', () => {
    const answer = planRatio({ ...ask, keyExactFNumber: 8, fillExactFNumber: 4 });
    expect([answer.sourceRatio, answer.additiveRatio]).toEqual([4, 5]);
  });
  checkTable(
    'key over fill for an additive ratio',
    (ratio: number) => planRatio({ ...ask, wanted: { ratio, definition: 'additive' } }).keyOverFillStops,
    rows<[number]>('log2(ratio - 1)', 6e-4, [
      [[2], 0],
      [[3], 1],
      [[4], 1.585],
      [[5], 2],
      [[8], 2.807],
      [[9], 3],
    ]),
  );
  it('readings of both and a wanted ratio: how far to turn the fill', () => {
    const both = { ...ask, keyExactFNumber: 8, fillExactFNumber: 8 };
    const answer = planRatio({ ...both, wanted: { ratio: 3, definition: 'additive' } });
    expect(answer.turnFill).toMatchObject({ direction: 'down', thirdStopSteps: -3 });
    expect(planRatio({ ...both, wanted: { ratio: 4, definition: 'source' } }).fill?.fNumber).toBe(4);
  });
  it('areas metered f/11 and f/5.6 are 4:1 additive, 2 stops', () => {
    const answer = planRatio({ ...ask, litExactFNumber: 8 * Math.SQRT2, shadowExactFNumber: 4 * Math.SQRT2 });
    expect(answer.additiveRatio).toBeCloseTo(4, 12);
    expect(answer.highlightToShadowStops).toBeCloseTo(2, 12);
  });
  it('refuses readings the wrong way round, mixed questions, and ratios that need no key', () => {
    expect(() => planRatio({ ...ask, litExactFNumber: 4, shadowExactFNumber: 8 })).toThrow(/wrong way round/);
    expect(() => planRatio({ ...ask, litExactFNumber: 4, keyExactFNumber: 8 })).toThrow(/go together/);
    expect(() => planRatio(ask)).toThrow(/--key with --fill/);
    expect(() => planRatio({ ...ask, wanted: { ratio: 1, definition: 'additive' } })).toThrow(/above 1:1/);
  });
});
