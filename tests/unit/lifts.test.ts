import { describe, expect, it } from 'vitest';
import { liftsOf } from '../../src/shoot/corrections/lifts.js';
import type { FakeFrame } from '../support/measurement.js';
import { contextOf, type ToldContext } from '../support/frame-context.js';

/*
 * The arithmetic of lifts, by hand: a region that gets f stops less light than the face is raised to where it stands a tenth
 * of a stop inside the tolerance (at most half of it), so by f - (T - 0.1); never above diffuse white, log2(1 / 0.18) = 2.474
 * stops over mid-grey, less the 0.7 that its brightest part stands over its mean; never further than its noise bears.
 */
const TOLERANCE = 0.25;
const USUAL_LEFT = TOLERANCE - 0.1;
const WHITE_STOPS = Math.log2(1 / 0.18);

const legs = (fall: number | null, told: Partial<NonNullable<FakeFrame['lowerBody']>> = {}): ToldContext => ({
  fake: {
    lowerBody: { levelStops: -0.5, basis: 'skin', faceToLowerBodyLightStops: fall, uncertaintyStops: 0.25, ...told },
  },
});
const only = (context: ToldContext, correctedStops = 0) => {
  const [lift, ...others] = liftsOf(contextOf(context), correctedStops);
  expect(others).toEqual([]);
  return lift;
};

describe('a lift of the lower body', () => {
  it('leaves the legs a tenth of a stop inside the tolerance', () => {
    const lift = only(legs(1));
    expect(lift).toMatchObject({ region: 'lower-body', limitedBy: null });
    expect(lift?.stops).toBeCloseTo(1 - USUAL_LEFT, 9);
    expect(lift?.because).toBe('Raise by 0.85 stops: the lower body gets 1.00 stop less light than the face.');
    expect(lift?.outline).toEqual(contextOf(legs(1)).frame.facts.main?.lowerBody?.outline);
  });

  it('of a narrow tolerance leaves half of it', () => {
    const lift = only({ ...legs(1), plan: { toleranceStops: 0.125 } });
    expect(lift?.stops).toBeCloseTo(1 - 0.0625, 9);
  });

  it('begins past tolerance and uncertainty together, not at them', () => {
    expect(only(legs(0.5))).toBeUndefined();
    expect(only(legs(0.5 + 1 / 1024))).toBeDefined();
    expect(only(legs(0.625, { uncertaintyStops: 0.5 }))).toBeUndefined();
  });

  it('needs light on skin: none by cloth, without legs, or where the fall is not known', () => {
    expect(only(legs(2, { basis: 'clothing' }))).toBeUndefined();
    expect(only(legs(2, { basis: 'mixed' }))).toBeDefined();
    expect(only(legs(null))).toBeUndefined();
    expect(only({ fake: { person: false } })).toBeUndefined();
    expect(only({})).toBeUndefined();
  });

  it("takes the sitter's own leg skin out, which may hide a fall or make one up", () => {
    const known = (stops: number): ToldContext => ({
      ...legs(1),
      medians: { sitterLegSkinStops: new Map([[0, stops]]) },
    });
    expect(only(known(0.125))?.stops).toBeCloseTo(1 - 0.125 - USUAL_LEFT, 9);
    expect(only(known(-0.125))?.stops).toBeCloseTo(1 + 0.125 - USUAL_LEFT, 9);
    expect(only({ ...known(0.125), frame: { sitter: 1 } })?.stops).toBeCloseTo(1 - USUAL_LEFT, 9);
  });

  it('stops under white, also by what the frame was brightened by before', () => {
    const bright = { levelStops: 1 };
    expect(only(legs(2, bright))).toMatchObject({ limitedBy: 'clipping' });
    expect(only(legs(2, bright))?.stops).toBeCloseTo(WHITE_STOPS - 0.7 - 1, 9);
    expect(only(legs(2, bright), 0.5)?.stops).toBeCloseTo(WHITE_STOPS - 0.7 - 1 - 0.5, 9);
    expect(only(legs(2, bright), -0.5)?.stops).toBeCloseTo(WHITE_STOPS - 0.7 - 1 + 0.5, 9);
    expect(only(legs(2, bright), 2)?.stops).toBe(0);
    expect(only(legs(2, bright))?.because).toBe(
      'Raise by 0.77 stops: the lower body gets 2.00 stops less light than the face; held to that by clipping, 1.85 stops would bring it within tolerance.',
    );
  });

  it('stops where noise shows, of which brightening the frame has used some; darkening gives none back', () => {
    // ISO 400 is two stops over ISO 100, where 3 stops are clean: 3 - 2 x 0.5 = 2.
    const at400: ToldContext = { fake: { ...legs(3).fake, iso: 400 } };
    expect(only(at400)).toMatchObject({ limitedBy: 'noise' });
    expect(only(at400)?.stops).toBeCloseTo(2, 6);
    expect(only(at400, 0.5)?.stops).toBeCloseTo(1.5, 6);
    expect(only(at400, -0.5)?.stops).toBeCloseTo(2, 6);
    expect(only(at400, 2.5)?.stops).toBe(0);
  });
});

describe('a lift of the background', () => {
  const apart = (wallStops: number, lightStops = 0, told: ToldContext = {}): ToldContext => ({
    light: { wallStops, lightStops, subjectStops: lightStops, witnesses: 'disagree' },
    ...told,
  });

  it('brings it to within tolerance of the subject, over the whole frame', () => {
    const lift = only(apart(-1));
    expect(lift).toMatchObject({ region: 'background', limitedBy: null });
    expect(lift?.stops).toBeCloseTo(1 - USUAL_LEFT, 9);
    expect(lift?.because).toBe(
      "Raise by 0.85 stops: the background is 1.00 stop under the set-up's, against the subject.",
    );
    expect(lift?.outline).toEqual([
      [0, 0],
      [1, 0],
      [1, 1],
      [0, 1],
    ]);
  });

  it('begins past one and a half tolerances, and not under a subject that is under as well', () => {
    expect(only(apart(-0.375))).toBeUndefined();
    expect(only(apart(-0.375 - 1 / 1024))).toBeDefined();
    expect(only(apart(-1.25, -0.25))?.stops).toBeCloseTo(1 - USUAL_LEFT, 9);
    expect(only(apart(-1.5, -0.25 - 1 / 1024))).toBeUndefined();
    expect(only(apart(1))).toBeUndefined();
  });

  it('is none where both witnesses agree, or one is missing', () => {
    for (const witnesses of ['both', 'wall', 'subject', 'none'] as const)
      expect(only({ light: { ...apart(-1).light, witnesses } })).toBeUndefined();
    expect(only({ light: { ...apart(-1).light, wallStops: null } })).toBeUndefined();
    expect(only({ light: { ...apart(-1).light, lightStops: null } })).toBeUndefined();
  });

  it('stops under white by the level of the wall; one of unknown level is held by noise alone', () => {
    expect(only(apart(-2, 0, { fake: { backgroundLevelStops: 1.5 } }))?.stops).toBeCloseTo(WHITE_STOPS - 0.7 - 1.5, 9);
    expect(only(apart(-4, 0, { fake: { backgroundLevelStops: null } }))).toMatchObject({
      stops: 3,
      limitedBy: 'noise',
    });
  });
});

describe('a face that is dark before a steady wall', () => {
  // Half a stop under the usual face, so that white is far enough.
  const dark = (subjectStops: number, wallStops = 0): ToldContext => ({
    fake: { ...legs(0.25).fake, faceLevelStops: 0 },
    light: { subjectStops, lightStops: subjectStops, wallStops, witnesses: 'disagree' },
  });
  const faceOf = (context: ToldContext) => liftsOf(contextOf(context), 0).find(({ region }) => region === 'face');

  it('is raised alone, to a tenth of a stop inside the tolerance', () => {
    const lift = faceOf(dark(-1));
    expect(lift).toMatchObject({ region: 'face', limitedBy: null });
    expect(lift?.stops).toBeCloseTo(1 - USUAL_LEFT, 9);
    expect(lift?.because).toBe(
      "Raise by 0.85 stops: the face is 1.00 stop under this sitter's other frames while the background is not.",
    );
    expect(lift?.outline).toEqual(contextOf(dark(-1)).frame.facts.main?.face?.outline);
  });

  it('is raised by no more than it is darker than the wall got', () => {
    expect(faceOf(dark(-1.5, -0.5))?.stops).toBeCloseTo(1 - USUAL_LEFT, 9);
    expect(faceOf(dark(-0.5, -1.5))).toBeUndefined();
  });

  it('stays where it is within tolerance, brighter, or as dark as its wall', () => {
    expect(faceOf(dark(-0.25))).toBeUndefined();
    expect(faceOf(dark(0.5))).toBeUndefined();
    expect(faceOf({ ...dark(-1), light: { ...dark(-1).light, witnesses: 'both' } })).toBeUndefined();
  });

  it('is raised no further than white lets its bright side', () => {
    const bright = { ...dark(-1), fake: { faceLevelStops: 0.5 } };
    expect(faceOf(bright)).toMatchObject({ limitedBy: 'clipping' });
    expect(faceOf(bright)?.stops).toBeCloseTo(WHITE_STOPS - 0.7 - 1, 9);
  });

  it('takes the lower body with it', () => {
    // Legs with a quarter of a stop less light are within tolerance of the face; of the raised one they are not.
    const [face, lower, ...others] = liftsOf(contextOf(dark(-1)), 0);
    expect(others).toEqual([]);
    expect([face?.region, lower?.region]).toEqual(['face', 'lower-body']);
    expect(lower?.stops).toBeCloseTo(0.25 + (1 - USUAL_LEFT) - USUAL_LEFT, 9);
    expect(lower?.because).toBe(
      'Raise by 0.95 stops: the lower body gets 1.10 stops less light than the face raised by 0.85 stops.',
    );
  });
});

describe('several regions', () => {
  it('come lower body first, background after', () => {
    const both = { ...legs(1), light: { wallStops: -1, lightStops: 0, witnesses: 'disagree' } } as const;
    expect(liftsOf(contextOf(both), 0).map(({ region }) => region)).toEqual(['lower-body', 'background']);
  });

  it('of less than a twentieth of a stop are not worth an edit', () => {
    // A tolerance of 2^-6 leaves 2^-7: a fall of 0.05 + 2^-7 asks for just 0.05.
    const narrow = (fall: number): ToldContext => ({
      ...legs(fall, { uncertaintyStops: 0 }),
      plan: { toleranceStops: 1 / 64 },
    });
    expect(only(narrow(0.05 + 1 / 128 + 1 / 4096))).toBeDefined();
    expect(only(narrow(0.05 + 1 / 128 - 1 / 4096))).toBeUndefined();
  });
});
