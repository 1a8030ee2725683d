import { describe, expect, it } from 'vitest';
import type { FrameMeasurement } from '../../src/contracts/measurement.js';
import type { Person } from '../../src/contracts/people.js';
import type { ToneResponse } from '../../src/contracts/tone.js';
import { relevel } from '../../src/shoot/rendering/relevel.js';
import { fakeMeasurement, type FakeFrame } from '../support/measurement.js';

/* A camera that reads a stop of light as two, from its own mid-grey: levels half as far apart, all moved by a tenth. */
const light = (stops: number): number => stops / 2 + 0.1;
const learned: ToneResponse = { source: 'learned', slopeAtMid: 2.8, uncertaintyStops: 0.04, because: 'told' };
/** Equal to four decimals. */
const near = (value: number): number => expect.closeTo(value, 4) as number;
const legs = { levelStops: -1.5, basis: 'skin', faceToLowerBodyLightStops: 2.3, uncertaintyStops: 0.7 } as const;
const moved = (fake: FakeFrame = {}, change: (m: FrameMeasurement) => FrameMeasurement = (m) => m) =>
  relevel(change(fakeMeasurement(fake)), light, learned);
const personOf = (fake: FakeFrame, change: (p: Person) => Person = (p) => p): Person =>
  moved(fake, (m) => ({ ...m, people: m.people.map(change) })).people[0]!;

describe('levels read anew', () => {
  it('of the whole frame: each percentile, both averages; the histograms stay as read', () => {
    const before = fakeMeasurement({ frameLevelStops: -1 });
    const { tone, toneResponse, exposure } = relevel(before, light, learned);
    expect(tone.percentilesStops).toEqual({
      p1: -2.4,
      p5: -1.9,
      p25: -0.9,
      p50: -0.4,
      p75: -0.15,
      p95: 0.1,
      p99: 0.35,
    });
    expect([tone.logAverageLevelStops, tone.meanLevelStops]).toEqual([-0.4, expect.closeTo(-0.25, 9)]);
    expect(tone.stopsHistogram).toBe(before.tone.stopsHistogram);
    expect([toneResponse, exposure]).toEqual([learned, before.exposure]);
  });

  it('that are not known stay unknown', () => {
    const { tone, background } = moved({ backgroundLevelStops: null }, (m) => ({
      ...m,
      tone: { ...m.tone, meanLevelStops: null, percentilesStops: { ...m.tone.percentilesStops, p1: null } },
    }));
    expect([tone.meanLevelStops, tone.percentilesStops.p1, background.levelStops]).toEqual([null, null, null]);
  });

  it('of the wall, and from the person to it by the face, else by the body', () => {
    const background = (fake: FakeFrame) => moved({ backgroundLevelStops: -1, ...fake }).background;
    expect(background({ faceLevelStops: 1 })).toMatchObject({ levelStops: -0.4, personToBackgroundStops: 1 });
    expect(background({ faceLevelStops: null, bodyLevelStops: 2 }).personToBackgroundStops).toBe(1.5);
    // Nobody marked as the main person: what was measured stays.
    const unmarked = moved({ backgroundLevelStops: -1, faceLevelStops: 1 }, (m) => ({
      ...m,
      people: m.people.map((p) => ({ ...p, main: false })),
    }));
    expect(unmarked.background.personToBackgroundStops).toBe(2);
    expect(background({ person: false }).personToBackgroundStops).toBeNull();
    expect(
      moved({ backgroundLevelStops: null }, (m) => ({
        ...m,
        background: { ...m.background, personToBackgroundStops: 3 },
      })).background.personToBackgroundStops,
    ).toBe(3);
  });

  it('of the main person the wall is told by, whoever stands first', () => {
    const { background } = moved({ backgroundLevelStops: -1, faceLevelStops: 1 }, (m) => {
      const other = fakeMeasurement({ faceLevelStops: 3 }).people[0]!;
      return { ...m, people: [{ ...other, main: false }, ...m.people] };
    });
    expect(background.personToBackgroundStops).toBe(1);
  });

  it('of a face and its two sides, whose difference is formed again', () => {
    const { face } = personOf({ faceLevelStops: 1, sideToSideStops: 2 });
    expect(face).toMatchObject({
      levelStops: 0.6,
      brightSideLevelStops: near(1.1),
      darkSideLevelStops: near(0.1),
      sideToSideStops: near(1),
    });
    expect(personOf({ faceLevelStops: null }).face).toBeNull();
  });

  it('of a face whose sides are known as a bound only: no difference comes to be', () => {
    const sides = (told: Partial<NonNullable<Person['face']>>) =>
      personOf({ faceLevelStops: 1, sideToSideStops: 2 }, (p) => ({ ...p, face: { ...p.face!, ...told } })).face!
        .sideToSideStops;
    expect(sides({ sideToSideStops: null })).toBeNull();
    expect(sides({ brightSideLevelStops: null })).toBe(2);
    expect(sides({ darkSideLevelStops: null })).toBe(2);
    // Never under nought, should the sides be told the wrong way round.
    expect(sides({ brightSideLevelStops: 0, darkSideLevelStops: 1 })).toBe(0);
  });

  it('of body, torso, lower body with its parts, and profile', () => {
    const person = personOf(
      {
        faceLevelStops: 1,
        bodyLevelStops: 0,
        torsoLevelStops: -1,
        lowerBody: { ...legs, basis: 'mixed' },
        profileLevelsStops: [1, -1],
      },
      (p) => ({
        ...p,
        profile: [...p.profile, { heightShare: 1, levelStops: null }],
        lowerBody: {
          ...p.lowerBody!,
          clothLevelStops: -3,
          parts: [{ part: 'thigh-left', levelStops: -2, skinShare: 1, pixels: 9 }],
        },
      }),
    );
    expect([person.bodyLevelStops, person.torsoLevelStops]).toEqual([0.1, -0.4]);
    expect(person.lowerBody).toMatchObject({
      levelStops: -0.65,
      skinLevelStops: -0.65,
      clothLevelStops: -1.4,
      parts: [{ part: 'thigh-left', levelStops: -0.9, skinShare: 1, pixels: 9 }],
    });
    expect(person.profile.map(({ levelStops }) => levelStops)).toEqual([0.6, -0.4, null]);
    // The face stands at 0.6: 1.25 over the legs, the torso 1 under it.
    expect(person.faceToLowerBodyStops).toBeCloseTo(1.25, 9);
    expect(person.appearance.torsoMinusFaceStops).toBeCloseTo(-1, 9);
  });

  it('torso against face stays as measured where either is not known', () => {
    const known = { torsoMinusFaceStops: -0.7 };
    expect(personOf({ torsoLevelStops: null, appearance: known }).appearance.torsoMinusFaceStops).toBe(-0.7);
    expect(personOf({ faceLevelStops: null, appearance: known }).appearance.torsoMinusFaceStops).toBe(-0.7);
    expect(personOf({ faceLevelStops: null, lowerBody: legs }).faceToLowerBodyStops).toBeNull();
  });
});

describe('light on face and legs, read anew', () => {
  it('keeps what was corrected beyond skin against skin', () => {
    // As read 2.5 apart and told as 2.3: 0.2 less. The levels are now 1.25 apart.
    expect(personOf({ faceLevelStops: 1, lowerBody: legs }).faceToLowerBodyLightStops).toBeCloseTo(1.05, 9);
  });

  it('stays unknown where it was, and as it was where a level is missing', () => {
    const lightOf = (fake: FakeFrame, change?: (p: Person) => Person) =>
      personOf(fake, change).faceToLowerBodyLightStops;
    expect(lightOf({ lowerBody: { ...legs, faceToLowerBodyLightStops: null } })).toBeNull();
    expect(lightOf({ lowerBody: { ...legs, basis: 'clothing' } })).toBe(2.3);
    expect(lightOf({ faceLevelStops: null, lowerBody: legs })).toBe(2.3);
    expect(lightOf({ lowerBody: legs }, (p) => ({ ...p, lowerBody: null }))).toBe(2.3);
  });

  it('is known to what the new response leaves, the old one’s part taken out', () => {
    const widthOf = (before: Partial<ToneResponse>, fake: FakeFrame = {}, after: ToneResponse = learned) =>
      relevel(fakeMeasurement({ faceLevelStops: 1, lowerBody: legs, toneResponse: before, ...fake }), light, after)
        .people[0]!.faceToLowerBodyLightUncertaintyStops;
    // 90 % half-widths: the old response's is 1.645 x 0.1 a stop x 2.5 stops, the new one's 1.645 x 0.04 x 1.25.
    const old = { source: 'calibrated', uncertaintyStops: 0.1 } as const;
    expect(widthOf(old)).toBeCloseTo(Math.hypot(Math.sqrt(0.7 ** 2 - 0.41125 ** 2), 0.08225), 9);
    // An assumed camera curve has a doubt more, over mid-grey, which goes with it.
    expect(widthOf({ source: 'assumed', uncertaintyStops: 0.1 })!).toBeLessThan(widthOf(old)!);
    // What skin itself may differ by stays, and an interval that was narrower is not widened to it.
    expect(widthOf({ source: 'calibrated', uncertaintyStops: 1 })).toBe(0.3);
    expect(
      widthOf({ source: 'calibrated', uncertaintyStops: 1 }, { lowerBody: { ...legs, uncertaintyStops: 0.2 } }),
    ).toBe(0.2);
    expect(widthOf(old, {}, { ...learned, uncertaintyStops: 1 })).toBeCloseTo(
      Math.hypot(Math.sqrt(0.7 ** 2 - 0.41125 ** 2), 1.645 * 1.25),
      9,
    );
  });

  it('is as uncertain as before where skin does not tell it, and unknown where it was', () => {
    const width = (fake: FakeFrame) => personOf({ faceLevelStops: 1, ...fake }).faceToLowerBodyLightUncertaintyStops;
    expect(width({ lowerBody: { ...legs, basis: 'clothing' } })).toBeCloseTo(0.7, 9);
    expect(width({ faceLevelStops: null, lowerBody: legs })).toBeCloseTo(0.7, 9);
    expect(width({ lowerBody: { ...legs, faceToLowerBodyLightStops: null } })).toBeNull();
    expect(width({})).toBeNull();
  });
});
