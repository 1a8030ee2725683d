import { describe, expect, it } from 'vitest';
import type { LookComparison } from '../../src/contracts/look.js';
import { correctionsOf, type Aims } from '../../src/shoot/corrections/corrections.js';
import { noiseLimitStops, noiseShareAt } from '../../src/shoot/corrections/noise-limit.js';
import { contextOf, sequenceFrame, type ToldContext } from '../support/frame-context.js';

/* What is added is what the frame is off by, with the other sign; limits by hand from white (2.474) and by ISO. */
const NO_AIMS: Aims = { fromReferenceStops: null, fromReferenceMired: null, look: null };
const stepOf = (step: 'level' | 'cast', told: ToldContext, aims: Partial<Aims> = {}) =>
  correctionsOf(contextOf(told), { ...NO_AIMS, ...aims }).corrections.find((one) => one.step === step);
const level = (told: ToldContext, aims?: Partial<Aims>) => stepOf('level', told, aims);
const cast = (told: ToldContext, aims?: Partial<Aims>) => stepOf('cast', told, aims);
const lit = (lightStops: number | null, settingsStops = 0): ToldContext => ({ light: { lightStops, settingsStops } });

const look = (told: Partial<LookComparison>): LookComparison => ({
  look: 'hall',
  verdict: 'off',
  level: null,
  contrast: null,
  background: null,
  fallOff: null,
  cast: null,
  lightThirdStopSteps: null,
  backgroundThirdStopSteps: null,
  correctionMired: null,
  because: [],
  ...told,
});
const against = (differenceStops: number, verdict: 'within' | 'check' | 'off') => ({
  level: { todayStops: 0, lookStops: 0, differenceStops, uncertaintyStops: 0.1, verdict },
});

describe('the level step', () => {
  it('takes off what settings and light put on, and what the set-up owes to the level metered for', () => {
    expect(level(lit(-0.5, -0.25))).toEqual({
      step: 'level',
      region: 'frame',
      stops: 0.75,
      mired: null,
      duv: null,
      toward: 'set-up',
      limitedBy: null,
      because: 'Brighten by 0.75 stops to match s1.',
    });
    expect(level(lit(0.5))?.because).toBe('Darken by 0.50 stops to match s1.');
    const departure = { fromSetupPlace: 0, settingsStops: 0.25, lightStops: -1, sure: true };
    expect(level({ ...lit(0.5), setup: { departure } })?.stops).toBe(0.25);
    expect(level({ ...lit(0.5), frame: { driftStops: 0.25 } })?.stops).toBe(-0.75);
  });

  it('leaves to the face what the face alone is darker by, its wall not', () => {
    const dark = (subjectStops: number, wallStops: number): ToldContext => ({
      light: { subjectStops, lightStops: subjectStops, wallStops, witnesses: 'disagree' },
    });
    expect(level(dark(-1, 0))).toBeUndefined();
    expect(level(dark(-1.5, -0.5))?.stops).toBeCloseTo(0.5, 9);
    // A face that is brighter cannot be lowered alone: the frame is, and its wall raised.
    expect(level(dark(1, 0))?.stops).toBe(-1);
  });

  it('is none under a twentieth of a stop, or where no level is known', () => {
    expect(level(lit(0.05))).toBeDefined();
    expect(level(lit(0.049))).toBeUndefined();
    expect(level(lit(-0.049))).toBeUndefined();
    expect(level(lit(null))).toBeUndefined();
  });

  it('goes to the reference frame first, by its name', () => {
    const plan = { referenceFrame: 'F003.jpg' };
    expect(level({ ...lit(1), plan }, { fromReferenceStops: 0.5, look: look(against(1, 'off')) })).toMatchObject({
      stops: -0.5,
      toward: 'reference',
      because: 'Darken by 0.50 stops to match F003.jpg.',
    });
    expect(level({ ...lit(1), plan }, { fromReferenceStops: 0 })).toBeUndefined();
  });

  it('goes to a look that skin cannot explain away, on top of the own set-up; else to the set-up', () => {
    expect(level(lit(0.25), { look: look(against(-1, 'off')) })).toMatchObject({
      stops: 0.75,
      toward: 'look',
      because: 'Brighten by 0.75 stops to match the look "hall".',
    });
    expect(level(lit(0.25), { look: look(against(-1, 'check')) })).toMatchObject({ stops: -0.25, toward: 'set-up' });
    expect(level(lit(0.25), { look: look({}) })).toMatchObject({ stops: -0.25, toward: 'set-up' });
    // The wall and the sitter tell nothing: the look's level cannot be reached either.
    expect(level(lit(null), { look: look(against(-1, 'off')) })).toBeUndefined();
  });

  it('toward a look or a reference never clips the face: its bright side has 2.474 - 0.7 - 1 = 0.77 stops left', () => {
    const room = Math.log2(1 / 0.18) - 0.7 - 1;
    const toReference = level(lit(0), { fromReferenceStops: -2 });
    expect(toReference).toMatchObject({ limitedBy: 'clipping' });
    expect(toReference?.stops).toBeCloseTo(room, 4);
    expect(toReference?.because).toBe(
      'Brighten by 0.77 stops to match the reference frame; held to that by clipping, +2.00 would bring it there.',
    );
    // Without halves of the face, its level tells; without any level, nothing but noise holds back.
    const whole = { ...lit(0), fake: { sideToSideStops: null } };
    expect(level(whole, { fromReferenceStops: -2.5 })?.stops).toBeCloseTo(room + 0.5, 4);
    // As far as the own set-up stands it was never clipped, so there the way is free.
    const back = level({ ...lit(-1.5), fake: { faceLevelStops: 0.5 } }, { fromReferenceStops: -2 });
    expect(back).toMatchObject({ stops: 1.5, limitedBy: 'clipping' });
  });

  it('stops where noise shows: at ISO 400 after two stops', () => {
    const dark = { ...lit(-4), fake: { faceLevelStops: -3.5, iso: 400 } };
    expect(level(dark)).toMatchObject({ stops: 2, limitedBy: 'noise' });
    expect(level({ ...lit(-2), fake: { faceLevelStops: -1.5, iso: 400 } })).toMatchObject({
      stops: 2,
      limitedBy: null,
    });
    expect(level({ ...lit(4), fake: { iso: 400 } })).toMatchObject({ stops: -4, limitedBy: null });
  });

  it('says what darkening cannot bring back, from more than a hundredth of the face on', () => {
    const clipped = (facesClippedShare: number, stops: number) => level({ ...lit(stops), fake: { facesClippedShare } });
    expect(clipped(0.25, 1)?.because).toBe(
      'Darken by 1.00 stop to match s1; 25 % of the face is clipped and stays without detail.',
    );
    expect(clipped(0.01, 1)?.because).toBe('Darken by 1.00 stop to match s1.');
    expect(clipped(0.25, -0.5)?.because).toBe('Brighten by 0.50 stops to match s1.');
  });
});

describe('the colour step', () => {
  it('is the shift with the other sign, mired and Duv, at unchanged luminance', () => {
    expect(cast({ cast: { mired: 30, duv: 0.004 } })).toEqual({
      step: 'cast',
      region: 'frame',
      stops: null,
      mired: -30,
      duv: -0.004,
      toward: 'set-up',
      limitedBy: null,
      because: 'Make it 30 mired cooler and 0.004 Duv pinker to match s1, its luminance unchanged.',
    });
    expect(cast({ cast: { mired: -30, duv: -0.004 } })?.because).toBe(
      'Make it 30 mired warmer and 0.004 Duv greener to match s1, its luminance unchanged.',
    );
    expect(cast({ cast: { mired: 30, duv: null } })).toMatchObject({ mired: -30, duv: null });
    expect(cast({ cast: { mired: 0.4, duv: 0.004 } })?.because).toBe(
      'Make it 0.004 Duv pinker to match s1, its luminance unchanged.',
    );
  });

  it('is none under 5 mired, under the scatter of the set-up, and under 0.002 Duv', () => {
    expect(cast({ cast: { mired: 5, duv: 0 } })).toBeDefined();
    expect(cast({ cast: { mired: 4.9, duv: 0 } })).toBeUndefined();
    expect(cast({ cast: { mired: 7.9, duv: 0, spreadMired: 8 } })).toBeUndefined();
    expect(cast({ cast: { mired: 8, duv: 0, spreadMired: 8 } })).toBeDefined();
    expect(cast({ cast: { mired: 0, duv: 0.002 } })).toMatchObject({ mired: 0, duv: -0.002 });
    expect(cast({ cast: { mired: 0, duv: -0.002 } })).toMatchObject({ duv: 0.002 });
    expect(cast({ cast: { mired: 0, duv: 0.0019 } })).toBeUndefined();
    expect(cast({ cast: { mired: null, duv: 0.01 } })).toBeUndefined();
  });

  it('goes to the reference frame, of which no tint is known; not where its level is not known', () => {
    const told: ToldContext = { cast: { mired: 30, duv: 0.004 }, plan: { referenceFrame: 'F003.jpg' } };
    expect(cast(told, { fromReferenceStops: 0, fromReferenceMired: 12 })).toMatchObject({
      mired: -12,
      duv: null,
      toward: 'reference',
      because: 'Make it 12 mired cooler to match F003.jpg, its luminance unchanged.',
    });
    expect(cast(told, { fromReferenceStops: null, fromReferenceMired: 12 })).toMatchObject({
      mired: -30,
      toward: 'set-up',
    });
    expect(cast(told, { fromReferenceStops: 0, fromReferenceMired: null })).toMatchObject({
      mired: -30,
      toward: 'set-up',
    });
  });

  it('goes to a look that it is not within, on top of the own set-up', () => {
    const to = (verdict: 'within' | 'check' | 'off', differenceDuv: number | null) =>
      cast(
        { cast: { mired: 10, duv: 0.001 } },
        { look: look({ cast: { differenceMired: 20, differenceDuv, verdict } }) },
      );
    expect(to('check', 0.003)).toMatchObject({ mired: -30, duv: -0.004, toward: 'look' });
    expect(to('off', 0.003)?.because).toBe(
      'Make it 30 mired cooler and 0.004 Duv pinker to match the look "hall", its luminance unchanged.',
    );
    expect(to('check', null)).toMatchObject({ mired: -30, duv: null });
    expect(to('within', 0.003)).toMatchObject({ mired: -10, duv: null, toward: 'set-up' });
    expect(cast({ cast: { mired: 10 } }, { look: look({}) })).toMatchObject({ mired: -10, toward: 'set-up' });
    const toReference = { fromReferenceStops: 0, fromReferenceMired: 12 };
    expect(
      cast(
        { cast: { mired: 10 } },
        { ...toReference, look: look({ cast: { differenceMired: 20, differenceDuv: null, verdict: 'off' } }) },
      ),
    ).toMatchObject({ mired: -12, toward: 'reference' });
  });
});

describe('the steps of a frame', () => {
  it('are level, colour, lifts; the lifts know what the level took of head-room, and are rounded once', () => {
    const told: ToldContext = {
      light: { lightStops: -0.5 },
      cast: { mired: 30, duv: null },
      fake: { lowerBody: { levelStops: 1, basis: 'skin', faceToLowerBodyLightStops: 2, uncertaintyStops: 0.25 } },
    };
    const { corrections, lifts } = correctionsOf(contextOf(told), NO_AIMS);
    expect(corrections.map(({ step, region }) => `${step} ${region}`)).toEqual([
      'level frame',
      'cast frame',
      'lift lower-body',
    ]);
    // White 2.474, less 0.7, less the legs' 1, less the half stop that the frame is brightened by.
    expect(lifts[0]?.stops).toBe(0.2739);
    expect(corrections[2]).toEqual({
      step: 'lift',
      region: 'lower-body',
      stops: 0.2739,
      mired: null,
      duv: null,
      toward: 'face',
      limitedBy: 'clipping',
      because: lifts[0]?.because,
    });
  });
});

describe('the limit by noise', () => {
  const limit = (levelStops: number | null, fake = {}, noiseShare: number | null = null): number => {
    const { facts } = sequenceFrame(fake);
    if (noiseShare !== null)
      facts.measurement.noise = { byLevel: [{ fromStops: -3, toStops: -2, noiseShare, parts: 40 }] };
    return noiseLimitStops(facts, levelStops);
  };

  it('by ISO: three stops at 100 and under, half a stop less a stop of ISO, half a stop at least; 400 where not told', () => {
    expect(limit(0, { iso: 100 })).toBe(3);
    expect(limit(0, { iso: 50 })).toBe(3);
    expect(limit(0, { iso: 200 })).toBeCloseTo(2.5, 6);
    expect(limit(0, { iso: 25_600 })).toBe(0.5);
    expect(limit(0, { iso: null })).toBe(2);
  });

  it('by codes: a stop below -5.5 stops of a rendered file, where 8 bits have few codes; not of a raw', () => {
    expect(limit(-5.5)).toBe(3);
    expect(limit(-5.51)).toBe(1);
    expect(limit(-5.51, { encoding: 'scene' })).toBe(3);
    expect(limit(-5.51, { iso: 25_600 })).toBe(0.5);
    expect(limit(null)).toBe(3);
    expect(limit(-5.51, {}, 0)).toBe(1);
  });

  it('by what shows: noise of a tenth of the signal, two stops under mid-grey, is a tenth of mid-grey two stops up', () => {
    expect(limit(-2, {}, 0.1)).toBeCloseTo(2, 9);
    expect(limit(-2, {}, 0.2)).toBeCloseTo(1, 9);
    expect(limit(-2, {}, 0.8)).toBe(0);
    expect(limit(-2, {}, 0)).toBe(3);
    expect(limit(-2, {}, 0.001)).toBe(3);
    expect(limit(null, {}, 0.8)).toBe(3);
  });

  it('is read at the nearest level; of two as near the first', () => {
    const noise = {
      byLevel: [
        { fromStops: -5, toStops: -4, noiseShare: 0.5, parts: 40 },
        { fromStops: -3, toStops: -2, noiseShare: 0.2, parts: 40 },
        { fromStops: 1, toStops: 2, noiseShare: 0.05, parts: 40 },
      ],
    };
    expect(noiseShareAt(noise, -9)).toBe(0.5);
    expect(noiseShareAt(noise, -3.51)).toBe(0.5);
    expect(noiseShareAt(noise, -3.5)).toBe(0.5);
    expect(noiseShareAt(noise, -3.49)).toBe(0.2);
    expect(noiseShareAt(noise, 0)).toBe(0.05);
    expect(noiseShareAt({ byLevel: [] }, 0)).toBeNull();
    expect(noiseShareAt(undefined, 0)).toBeNull();
  });
});
