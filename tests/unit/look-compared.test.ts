import { describe, expect, it } from 'vitest';
import type { LookComparison, LookFigures, SavedLook, StopsFigure } from '../../src/contracts/look.js';
import { ShootPlan, type ShootPlanInput } from '../../src/contracts/plan.js';
import { lookOfSetup } from '../../src/shoot/look/compare-look.js';
import type { SetupState } from '../../src/shoot/setup-state.js';
import { contextOf, sequenceFrame } from '../support/frame-context.js';
import type { FakeFrame } from '../support/measurement.js';
import { NO_FIGURES } from '../support/no-change.js';

const figure = (medianStops: number, spreadStops = 0, frames = 9): StopsFigure => ({
  medianStops,
  spreadStops,
  frames,
});
/** Equal to four decimals. */
const near = (value: number): number => expect.closeTo(value, 4) as number;
/** A look of four sitters, read through a response that is known exactly. */
const look = (figures: Partial<LookFigures>, told: Partial<SavedLook> = {}): SavedLook => ({
  schemaVersion: 1,
  kind: 'look',
  name: 'hall',
  frames: 9,
  sitters: 4,
  light: 'flash',
  settings: { fNumber: 8, exposureTimeSeconds: 1 / 125, iso: 100 },
  toneResponses: [{ source: 'calibrated', frames: 9, uncertaintyStops: 0 }],
  measuringVersions: ['8'],
  figures: { ...NO_FIGURES, ...figures },
  ...told,
});

const exact: FakeFrame = {
  faceLevelStops: 0,
  backgroundLevelStops: null,
  sideToSideStops: null,
  wallMired: null,
  skinMired: null,
  toneResponse: { source: 'calibrated', uncertaintyStops: 0 },
};

const USUAL = contextOf();

/** Nine frames of so many sitters in turn, all alike. */
function setupOf(fake: FakeFrame, sitters = 4): SetupState {
  const frames = Array.from({ length: 9 }, (_, i) => sequenceFrame({ ...exact, ...fake }, { sitter: i % sitters }));
  return { ...USUAL.setup, frames, lights: frames.map(() => USUAL.light) };
}

function compared(
  fake: FakeFrame,
  saved: SavedLook,
  {
    sitters = 4,
    light = 'flash',
    plan = {},
  }: { sitters?: number; light?: 'flash' | 'continuous'; plan?: ShootPlanInput } = {},
): LookComparison {
  const parsed = ShootPlan.parse({ toleranceStops: 0.25, ...plan, look: saved });
  return lookOfSetup(setupOf(fake, sitters), parsed, light)!;
}

/* Four sitters on both sides: what is due to skin scatters by sqrt(1/4 + 1/4) = 0.707 of what one sitter's does. */
const PEOPLE = Math.SQRT1_2;

describe('the level against a saved look', () => {
  const level = (todayStops: number, more: Partial<LookFigures> = {}, fake: FakeFrame = {}) =>
    compared({ faceLevelStops: todayStops, ...fake }, look({ subjectLevel: figure(0), ...more }));

  it('is today minus the look; other sitters’ skin widens what it may differ by', () => {
    expect(level(-1).level).toEqual({
      todayStops: -1,
      lookStops: 0,
      differenceStops: -1,
      uncertaintyStops: near(0.55 * PEOPLE),
      verdict: 'off',
    });
    // Off from 0.25 + 0.389 on, looked at from 0.25.
    expect([0.63, -0.63, 0.65, -0.65].map((stops) => level(stops).verdict)).toEqual(['check', 'check', 'off', 'off']);
    expect([0.25, 0.26].map((stops) => level(stops).verdict)).toEqual(['within', 'check']);
  });

  it('skin counts by the sitters on both sides; unknown numbers count as one', () => {
    const of = (then: number | null, now: number, plan: ShootPlanInput = {}) =>
      compared({ faceLevelStops: 1 }, look({ subjectLevel: figure(0) }, { sitters: then }), { sitters: now, plan })
        .level!.uncertaintyStops;
    expect(of(1, 1)).toBeCloseTo(0.55 * Math.SQRT2, 4);
    expect(of(null, 1)).toBeCloseTo(0.55 * Math.SQRT2, 4);
    expect(of(9, 1)).toBeCloseTo(0.55 * Math.hypot(1, 1 / 3), 4);
    expect(of(1, 4, { compareSitters: false })).toBeCloseTo(0.55 * Math.SQRT2, 4);
  });

  it('medians of few or scattered frames are less certain: as a mean of half as many', () => {
    const scattered = level(1, { subjectLevel: figure(0, 0.4, 8) }).level!;
    expect(scattered.uncertaintyStops).toBeCloseTo(Math.hypot(0.55 * PEOPLE, 0.4 / Math.sqrt(4)), 4);
    const single = level(1, { subjectLevel: figure(0, 0.4, 1) }).level!;
    expect(single.uncertaintyStops).toBeCloseTo(Math.hypot(0.55 * PEOPLE, 0.4), 4);
    const unknown = level(1, { subjectLevel: { medianStops: 0, spreadStops: null, frames: 1 } }).level!;
    expect(unknown.uncertaintyStops).toBeCloseTo(0.55 * PEOPLE, 4);
  });

  it('the responses’ doubt grows with the difference: today’s, and the worst that the look was read through', () => {
    const responses: SavedLook['toneResponses'] = [
      { source: 'calibrated', frames: 5, uncertaintyStops: 0.3 },
      { source: 'assumed', frames: 4, uncertaintyStops: 0.4 },
      { source: 'learned', frames: 4, uncertaintyStops: 0.1 },
    ];
    const doubted = compared(
      { faceLevelStops: -2, toneResponse: { source: 'calibrated', uncertaintyStops: 0.3 } },
      look({ subjectLevel: figure(0) }, { toneResponses: responses }),
    );
    expect(doubted.level!.uncertaintyStops).toBeCloseTo(Math.hypot(0.55 * PEOPLE, 0.5 * 2), 4);
  });

  it('where the wall says the same within 0.3, skin is no excuse: their mean, known better', () => {
    const both = level(0.7, { backgroundLevel: figure(0) }, { backgroundLevelStops: 0.42 });
    expect(both.level).toMatchObject({
      todayStops: 0.7,
      differenceStops: 0.56,
      // The wall alone is known to 0.1.
      uncertaintyStops: near(Math.hypot(0.15, 0.1)),
      verdict: 'off',
    });
    expect(level(0.39, { backgroundLevel: figure(0) }, { backgroundLevelStops: 0.11 }).level).toMatchObject({
      differenceStops: 0.25,
      verdict: 'within',
    });
  });

  it('where the wall stands as it stood, skin may be all of it: never off', () => {
    const steady = (wall: number) => level(1.2, { backgroundLevel: figure(0) }, { backgroundLevelStops: wall }).level!;
    expect(steady(0)).toMatchObject({ differenceStops: 1.2, verdict: 'check' });
    expect(steady(0.25).verdict).toBe('check');
    const apart = level(0.25, { backgroundLevel: figure(0) }, { backgroundLevelStops: -0.1 }).level!;
    expect(apart).toMatchObject({ differenceStops: 0.25, verdict: 'within' });
    // A wall that moved as well, if not alike, excuses nothing.
    expect(steady(0.5).verdict).toBe('off');
    expect(level(0.31, { backgroundLevel: figure(0) }, { backgroundLevelStops: 0 }).level!.verdict).toBe('check');
  });

  it('is not told where today or the look shows no subject', () => {
    expect(compared({}, look({})).level).toBeNull();
    expect(compared({ person: false }, look({ subjectLevel: figure(0) })).level).toBeNull();
    expect(compared({}, look({}))).toMatchObject({
      verdict: null,
      lightThirdStopSteps: null,
      backgroundThirdStopSteps: null,
    });
    expect(lookOfSetup(setupOf({}), ShootPlan.parse({}), 'flash')).toBeNull();
  });
});

describe('contrast, background and fall-off against a saved look', () => {
  const only = <K extends 'contrast' | 'background' | 'fallOff'>(
    key: K,
    fake: FakeFrame,
    figures: Partial<LookFigures>,
  ) => compared({ faceLevelStops: null, bodyLevelStops: null, ...fake }, look(figures))[key]!;

  it('side to side may differ by half a stop, and by what pose does', () => {
    const contrast = (sideToSideStops: number) =>
      only('contrast', { faceLevelStops: 0, sideToSideStops }, { sideToSide: figure(1) });
    expect(contrast(1.5)).toMatchObject({ differenceStops: 0.5, verdict: 'within' });
    expect(contrast(1.6).uncertaintyStops).toBeCloseTo(0.3 * PEOPLE, 4);
    expect([1.51, 1.71, 1.72, 0.28].map((side) => contrast(side).verdict)).toEqual(['check', 'check', 'off', 'off']);
  });

  it('the background may differ by one and a half tolerances, and by what skin does', () => {
    const background = (wall: number) =>
      compared({ backgroundLevelStops: wall }, look({ personToBackground: figure(1) })).background!;
    expect(background(-1.375)).toMatchObject({ todayStops: 1.375, differenceStops: 0.375, verdict: 'within' });
    expect(background(-1.4).uncertaintyStops).toBeCloseTo(0.55 * PEOPLE, 4);
    expect([-1.38, -1.76, -1.77, -0.2].map((wall) => background(wall).verdict)).toEqual([
      'check',
      'check',
      'off',
      'off',
    ]);
  });

  it('the fall-off may differ by the tolerance, and by what leg skin does', () => {
    const fallOff = (faceToLowerBodyLightStops: number) =>
      only(
        'fallOff',
        { faceLevelStops: 0, lowerBody: { levelStops: -1, basis: 'skin', faceToLowerBodyLightStops } },
        { faceToLowerBodyLight: figure(0.5) },
      );
    expect(fallOff(0.75)).toMatchObject({ differenceStops: 0.25, verdict: 'within' });
    expect(fallOff(0.8).uncertaintyStops).toBeCloseTo(0.3 * PEOPLE, 4);
    expect([0.76, 0.96, 0.97, 0.03].map((fall) => fallOff(fall).verdict)).toEqual(['check', 'check', 'off', 'off']);
  });
});

describe('the colour against a saved look', () => {
  /* A wall of D65 is no cast: 10^6 / 6504 K = 153.75 mired. */
  const D65 = 1e6 / 6504;
  const cast = (
    mired: number,
    duv: number | null,
    light: 'flash' | 'continuous' = 'flash',
    thenDuv: number | null = 0.001,
  ) =>
    compared(
      { backgroundLevelStops: -1, wallMired: D65 + mired, wallDuv: duv },
      look({
        castMired: { medianMired: 5, spreadMired: 1, frames: 9 },
        castDuv: thenDuv === null ? null : { medianDuv: thenDuv, spreadDuv: 0, frames: 9 },
      }),
      { light },
    );

  it('is today minus the look, and corrected by as much the other way', () => {
    expect(cast(45, 0.003)).toMatchObject({
      cast: { differenceMired: 40, differenceDuv: 0.002, verdict: 'off' },
      correctionMired: -40,
    });
    expect(cast(-25, 0.001)).toMatchObject({ cast: { differenceMired: -30, verdict: 'off' }, correctionMired: 30 });
    expect(cast(45, null).cast!.differenceDuv).toBeNull();
    expect(cast(45, 0.003, 'flash', null).cast!.differenceDuv).toBeNull();
  });

  it('may move by 15 mired under flash, 20 under continuous light; off from 26 and 32', () => {
    const verdicts = (light: 'flash' | 'continuous') =>
      [15, 16, 21, 26, 27, 32, 33, -27].map((by) => cast(5 + by, 0.001, light).cast!.verdict);
    expect(verdicts('flash')).toEqual(['within', 'check', 'check', 'check', 'off', 'off', 'off', 'off']);
    expect(verdicts('continuous')).toEqual(['within', 'within', 'check', 'check', 'check', 'check', 'off', 'check']);
  });

  it('may move by 0.007 Duv, and is off from twice that', () => {
    const verdicts = [0.0069, -0.0069, 0.0071, -0.0071, 0.0139, 0.0141, -0.0141].map(
      (by) => cast(5, 0.001 + by).cast!.verdict,
    );
    expect(verdicts).toEqual(['within', 'within', 'check', 'check', 'check', 'off', 'off']);
  });

  it('is not told where either shows none', () => {
    expect(compared({}, look({ castMired: { medianMired: 5, spreadMired: 1, frames: 9 } })).cast).not.toBeNull();
    expect(compared({ wallMired: 200, backgroundLevelStops: -1 }, look({}))).toMatchObject({
      cast: null,
      correctionMired: null,
    });
  });
});

describe('what a look asks for', () => {
  it('is the worst of its figures, and third-stop steps that bring level and background back', () => {
    const both = compared(
      { faceLevelStops: -1, backgroundLevelStops: -3, sideToSideStops: 1 },
      look({ subjectLevel: figure(0), personToBackground: figure(1), sideToSide: figure(1) }),
    );
    expect(both).toMatchObject({
      verdict: 'off',
      contrast: { verdict: 'within' },
      lightThirdStopSteps: 3,
      // A stop further under the subject than in the look: a stop more light on it.
      backgroundThirdStopSteps: 3,
    });
    const bright = compared(
      { faceLevelStops: 1.4, backgroundLevelStops: 1.4 },
      look({ subjectLevel: figure(0), personToBackground: figure(1) }),
    );
    expect(bright).toMatchObject({ lightThirdStopSteps: -4, backgroundThirdStopSteps: -3 });
  });

  it('is off where one figure is, whichever that is', () => {
    const figures = { subjectLevel: figure(0), sideToSide: figure(1) };
    const verdictOf = (fake: FakeFrame) => compared(fake, look(figures)).verdict;
    expect(verdictOf({ faceLevelStops: -1, sideToSideStops: 1 })).toBe('off');
    expect(verdictOf({ faceLevelStops: 0, sideToSideStops: 3 })).toBe('off');
    expect(verdictOf({ faceLevelStops: 0.3, sideToSideStops: 1 })).toBe('check');
    expect(verdictOf({ faceLevelStops: 0.3, sideToSideStops: 3 })).toBe('off');
  });

  it('is nothing where all is within', () => {
    const well = compared(
      { faceLevelStops: 0.2, sideToSideStops: 1 },
      look({ subjectLevel: figure(0), sideToSide: figure(1) }),
    );
    expect(well).toMatchObject({
      look: 'hall',
      verdict: 'within',
      lightThirdStopSteps: 0,
      backgroundThirdStopSteps: null,
    });
  });
});
