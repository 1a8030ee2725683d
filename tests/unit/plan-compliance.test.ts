import { describe, expect, it } from 'vitest';
import { ShootPlan, type ShootPlanInput } from '../../src/contracts/plan.js';
import { expectedFaceToLowerBodyStops } from '../../src/shoot/plan/expected-fall-off.js';
import { fallOffDownBodyStops } from '../../src/photometry/inverse-square.js';
import { codesOf, judgeFakes, lit, times } from '../support/fake-shoot.js';

const TEN = { first: 'F001.jpg', last: 'F010.jpg' };
const NEXT_TEN = { first: 'F011.jpg', last: 'F020.jpg' };
const F8 = { fNumber: 8, iso: 100 };

describe('a plan with meter readings', () => {
  it('is met by any settings that give the reading its exposure', () => {
    const plan: ShootPlanInput = { light: 'flash', setups: [{ name: 'front', reading: F8 }] };
    const report = judgeFakes([...times(5), ...times(5, { fNumber: 11, iso: 200 })], plan);
    expect(report.planCompliance[0]).toMatchObject({ verdict: 'as-planned', frames: 10, settings: { framesOff: 0 } });
    expect(report.frames.map((frame) => frame.deviation.fromPlanStops)).toEqual(times(10).map(() => 0));
    expect(report.summary.consistent).toBe(10);
  });

  it('tells settings a stop off it, per frame and per set-up, with the steps that follow it', () => {
    const plan: ShootPlanInput = { light: 'flash', setups: [{ name: 'front', reading: { fNumber: 11, iso: 100 } }] };
    const report = judgeFakes(times(8), plan);
    expect(report.planCompliance[0]).toMatchObject({
      verdict: 'off-plan',
      setups: ['s1'],
      settings: { basis: 'reading', thirdStopSteps: -3, framesOff: 8 },
    });
    expect(report.planCompliance[0]?.settings?.fromPlanStops).toBeCloseTo(1, 3);
    expect(codesOf(report, 3)).toEqual(['settings-off-plan']);
    expect(report.frames[3]?.flags[0]?.because).toMatch(/"front" the meter read f\/11, ISO 100.*−3 third-stop steps/);
  });

  it('takes what is meant over or under the reading into account', () => {
    const plan = (overReadingStops: number): ShootPlanInput => ({
      light: 'flash',
      setups: [{ name: 'front', reading: { fNumber: 11, iso: 100 }, overReadingStops }],
    });
    expect(judgeFakes(times(6), plan(1)).planCompliance[0]?.verdict).toBe('as-planned');
    expect(judgeFakes(times(6), plan(-1)).planCompliance[0]?.settings?.fromPlanStops).toBeCloseTo(2, 3);
  });

  it('counts the shutter for continuous light, and asks for a time there', () => {
    const reading = { fNumber: 8, iso: 100, exposureTimeSeconds: 1 / 60 };
    const timed = judgeFakes(times(6), { light: 'continuous', setups: [{ name: 'hall', reading }] });
    expect(timed.planCompliance[0]?.settings?.fromPlanStops).toBeCloseTo(-1, 3);
    const untimed = judgeFakes(times(6), { light: 'continuous', setups: [{ name: 'hall', reading: F8 }] });
    expect(untimed.planCompliance[0]).toMatchObject({ verdict: 'cannot-tell', settings: null });
    expect(untimed.planCompliance[0]?.because.join()).toContain('exposureTimeSeconds');
  });

  it("holds the sitters' light against what two readings say", () => {
    const setups = (second: number): ShootPlanInput['setups'] => [
      { name: 'one', frames: TEN, reading: F8 },
      { name: 'two', frames: NEXT_TEN, reading: { fNumber: second, iso: 100 } },
    ];
    // The lamp down one stop, the aperture opened to match: the second reading is f/5.6.
    const frames = [...times(10), ...times(10, { fNumber: 5.6 })];
    const right = judgeFakes(frames, { light: 'flash', setups: setups(5.6) });
    expect(right.planCompliance.map(({ verdict }) => verdict)).toEqual(['as-planned', 'as-planned']);
    expect(right.planCompliance[1]?.level?.measuredStops).toBeCloseTo(-1, 1);
    // Read as f/4 by mistake and set to f/5.6: both the settings and the light disagree with the reading.
    const wrong = judgeFakes(frames, { light: 'flash', setups: setups(4) });
    expect(wrong.planCompliance[1]).toMatchObject({
      verdict: 'off-plan',
      level: { against: 'one', thirdStopSteps: -3 },
    });
    expect(wrong.planCompliance[1]?.level?.fromPlanStops).toBeCloseTo(1, 1);
    expect(wrong.summary.cautions.length).toBeGreaterThan(0);
  });

  it('has a target and a tolerance for one set-up alone', () => {
    const knocked = [...times(10), ...times(9), lit(0.4)];
    const plan = (toleranceStops: number): ShootPlanInput => ({
      light: 'flash',
      setups: [
        { name: 'one', frames: TEN },
        { name: 'two', frames: NEXT_TEN, toleranceStops, target: { fNumber: 11 } },
      ],
    });
    const report = judgeFakes(knocked, plan(0.25));
    expect(codesOf(report, 5)).toEqual([]);
    expect(codesOf(report, 12)).toEqual(['settings-off-plan']);
    expect(codesOf(report, 19)).toContain('level-off-baseline');
    expect(codesOf(judgeFakes(knocked, plan(1)), 19)).toEqual(['settings-off-plan']);
  });
});

describe('which frames a planned set-up holds for', () => {
  const framesOf = (setup: object) =>
    judgeFakes(times(20), { light: 'flash', setups: [{ name: 'part', ...setup }] }).planCompliance[0]?.frames;

  it('goes by names, ordered as people count', () => {
    expect(framesOf({ frames: { first: 'F008.jpg', last: 'F11.jpg' } })).toBe(4);
  });

  it("goes by the camera's clock, or by instants", () => {
    expect(framesOf({ times: { from: '2026-05-16T10:00:30', until: '2026-05-16T10:01:00' } })).toBe(4);
    expect(framesOf({ times: { from: '2026-05-16T11:00:30+01:00', until: '2026-05-16T10:01:00Z' } })).toBe(4);
  });

  it('tells when no frame fits', () => {
    const report = judgeFakes(times(5), { setups: [{ name: 'noon', frames: { first: 'Z1', last: 'Z9' } }] });
    expect(report.planCompliance[0]).toMatchObject({ frames: 0, verdict: 'cannot-tell' });
    expect(report.summary.notes[0]).toContain('"noon"');
  });
});

describe('the fall-off that a light’s place gives', () => {
  it('of a small source level with the face is the closed form, averaged from hips to ankles', () => {
    const stature = 1.7;
    const drops = Array.from({ length: 400 }, (_, i) => {
      const hip = 0.903 - 0.53;
      const ankle = 0.903 - 0.039;
      return (hip + ((ankle - hip) * (i + 0.5)) / 400) * stature;
    });
    const mean = drops.reduce((sum, drop) => sum + 2 ** fallOffDownBodyStops(2, drop, 'bare'), 0) / drops.length;
    expect(expectedFaceToLowerBodyStops({ lightDistanceMetres: 2 })).toBeCloseTo(-Math.log2(mean), 2);
  });

  it('is less for a light farther away, and more for one raised', () => {
    const at = (lightDistanceMetres: number, lightRaisedMetres = 0) =>
      expectedFaceToLowerBodyStops({
        lightDistanceMetres,
        lightRaisedMetres,
        lightWidthMetres: 1,
        lightHeightMetres: 1,
      }) ?? NaN;
    expect(at(1)).toBeGreaterThan(at(2));
    expect(at(2)).toBeGreaterThan(at(5));
    expect(at(2, 0.6)).toBeGreaterThan(at(2));
  });

  it('is held against bare leg skin, and says what may be different', () => {
    const light = { lightDistanceMetres: 1.2 };
    const legs = (fall: number) => ({
      lowerBody: {
        levelStops: 0.5 - fall,
        basis: 'skin' as const,
        faceToLowerBodyLightStops: fall,
        uncertaintyStops: 0.3,
      },
    });
    const expected = expectedFaceToLowerBodyStops(light) ?? NaN;
    const report = (fall: number) =>
      judgeFakes(times(6, legs(fall)), { light: 'flash', setups: [{ name: 'near', light }] }).planCompliance[0];
    expect(report(expected)).toMatchObject({ verdict: 'as-planned' });
    expect(report(0)).toMatchObject({ verdict: 'check' });
    expect(report(0)?.because[0]).toContain('something else lights the legs');
    const covered = judgeFakes(times(6), { light: 'flash', setups: [{ name: 'near', light }] }).planCompliance[0];
    expect(covered).toMatchObject({ fallOff: null, verdict: 'cannot-tell' });
  });
});

describe('a plan that cannot be right', () => {
  const issuesOf = (plan: unknown) =>
    (ShootPlan.safeParse(plan).error?.issues ?? []).map((issue) => issue.path.join('.'));

  it.each([
    [{ setups: [{ name: 'a', reading: { fNumber: -8, iso: 100 } }] }, 'setups.0.reading.fNumber'],
    [{ setups: [{ name: 'a', reading: { fNumber: 8 } }] }, 'setups.0.reading.iso'],
    [{ setups: [{ name: 'a', times: { from: 'ten', until: '2026-05-16T11:00' } }] }, 'setups.0.times.from'],
    [{ setups: [{ name: 'a' }, { name: 'b', frames: TEN }] }, 'setups.0'],
    [
      {
        setups: [
          { name: 'a', frames: TEN },
          { name: 'a', frames: NEXT_TEN },
        ],
      },
      'setups.1.name',
    ],
    [
      { setups: [{ name: 'a', light: { lightDistanceMetres: 2, lightWidthMetres: 1 } }] },
      'setups.0.light.lightHeightMetres',
    ],
    [{ setups: [{ name: 'a', light: { lightDistanceMeters: 2 } }] }, 'setups.0.light.lightDistanceMetres'],
    [{ look: { schemaVersion: 1 } }, 'look.kind'],
  ])('names the field: %j', (plan, path) => {
    expect(issuesOf(plan)).toContain(path);
  });
});
