import { describe, expect, it } from 'vitest';
import {
  appearanceDistance,
  looksDistance,
  looksInFraming,
  looksOf,
  medianAppearance,
} from '../../src/shoot/appearance.js';
import type { AppearanceFacts } from '../../src/shoot/facts.js';
import {
  recognisedSubjectChange,
  sharedSubjectChange,
  fallOffChange,
  sittersIn,
  type SeenSitter,
} from '../../src/shoot/sitters-across.js';
import type { FakeFrame } from '../support/measurement.js';
import { trackOf } from '../support/track.js';

const look = (told: Partial<AppearanceFacts> = {}): AppearanceFacts => ({
  torsoMinusSkinLogRg: 0,
  torsoMinusSkinLogBg: 0,
  torsoMinusFaceStops: 0,
  skinLogRg: 0,
  skinLogBg: 0,
  cropLog2: 0,
  ...told,
});
const UNKNOWN: AppearanceFacts = {
  torsoMinusSkinLogRg: null,
  torsoMinusSkinLogBg: null,
  torsoMinusFaceStops: null,
  skinLogRg: null,
  skinLogBg: null,
  cropLog2: null,
};

describe('how alike two frames’ sitters look', () => {
  const apart = (told: Partial<AppearanceFacts>, otherLight = false) =>
    appearanceDistance(look(), look(told), otherLight);

  it('is the largest difference of any feature, each in its usual scatter', () => {
    expect(apart({})).toBe(0);
    expect(apart({ torsoMinusSkinLogRg: 0.2 })).toBeCloseTo(2, 9);
    expect(apart({ torsoMinusSkinLogBg: -0.24 })).toBeCloseTo(2, 9);
    expect(apart({ torsoMinusFaceStops: 0.36 })).toBeCloseTo(2, 9);
    expect(apart({ skinLogRg: -0.36 })).toBeCloseTo(2, 9);
    expect(apart({ skinLogBg: 0.56 })).toBeCloseTo(2, 9);
    expect(apart({ skinLogBg: 0.28, skinLogRg: 0.54 })).toBeCloseTo(3, 9);
    expect(apart({ skinLogRg: 0.54, torsoMinusSkinLogRg: 0.1 })).toBeCloseTo(3, 9);
  });

  it('allows the clothes, not the skin, more scatter for every doubling of the head', () => {
    const near = { cropLog2: 2 };
    expect(apart({ ...near, torsoMinusFaceStops: 0.42 })).toBeCloseTo(1, 9);
    expect(apart({ ...near, torsoMinusSkinLogRg: 0.16 })).toBeCloseTo(1, 9);
    expect(apart({ ...near, torsoMinusSkinLogBg: 0.2 })).toBeCloseTo(1, 9);
    expect(apart({ ...near, skinLogRg: 0.18, skinLogBg: 0.28 })).toBeCloseTo(1, 9);
    expect(apart({ cropLog2: -2, torsoMinusFaceStops: 0.42 })).toBeCloseTo(1, 9);
    // An unknown framing is taken as the same.
    expect(apart({ cropLog2: null, torsoMinusFaceStops: 0.36 })).toBeCloseTo(2, 9);
  });

  it('allows another light another fall from face to chest', () => {
    expect(apart({ torsoMinusFaceStops: 0.33 }, true)).toBeCloseTo(1, 9);
    expect(apart({ torsoMinusSkinLogRg: 0.1 }, true)).toBeCloseTo(1, 9);
  });

  it('is not told by one feature', () => {
    expect(appearanceDistance(UNKNOWN, look())).toBeNull();
    expect(appearanceDistance({ ...UNKNOWN, skinLogRg: 0, cropLog2: 0 }, look())).toBeNull();
    expect(appearanceDistance(look(), { ...UNKNOWN, skinLogRg: 0, skinLogBg: 0.28 })).toBeCloseTo(1, 9);
  });
});

describe('looks over several frames', () => {
  const frame = (told: Partial<AppearanceFacts> = {}) => ({ appearance: look(told) });

  it('are medians, feature by feature', () => {
    const features = Object.keys(UNKNOWN) as (keyof AppearanceFacts)[];
    for (const key of features) {
      const median = medianAppearance([1, 5, 2].map((value) => frame({ [key]: value })));
      expect(median).toEqual(look({ [key]: 2 }));
    }
    expect(medianAppearance([])).toEqual(UNKNOWN);
  });

  it('in one framing are those of two frames at least whose heads are alike in size, within 0.4 of a doubling', () => {
    const frames = [
      frame({ skinLogRg: 1, cropLog2: 0.4 }),
      frame({ skinLogRg: 3, cropLog2: -0.4 }),
      frame({ skinLogRg: 9, cropLog2: 0.41 }),
    ];
    expect(looksInFraming(frames, 0)).toMatchObject({ skinLogRg: 2 });
    expect(looksInFraming(frames.slice(1), 0)).toBeNull();
    expect(looksInFraming(frames, null)).toBeNull();
    expect(looksInFraming([frame({ cropLog2: null }), frame({ cropLog2: null })], 0)).toBeNull();
  });

  it('are kept by whole doublings of the head, and compared in the nearest two', () => {
    const close = [frame({ cropLog2: -1.6, skinLogRg: 1 }), frame({ cropLog2: -2.4, skinLogRg: 3 })];
    const far = [frame({ cropLog2: -4, skinLogRg: 7 })];
    expect(looksOf([...close, ...far]).map(({ skinLogRg }) => skinLogRg)).toEqual([2, 7]);
    expect(looksOf([frame({ cropLog2: null, skinLogRg: 4 }), frame({ cropLog2: null, skinLogRg: 6 })])).toHaveLength(1);
    // Full length against full length, whatever the close crops show.
    const one = [look({ cropLog2: -2, skinLogRg: 9 }), look({ cropLog2: -4, skinLogRg: 0 })];
    const other = [look({ cropLog2: -4, skinLogRg: 0.18 }), look({ cropLog2: null, skinLogRg: 5 })];
    expect(looksDistance(one, other)).toBeCloseTo(1, 9);
    expect(looksDistance(other, one)).toBeCloseTo(1, 9);
    expect(looksDistance([look({ cropLog2: null })], [look({ skinLogRg: 0.18 })])).toBeCloseTo(1, 9);
    expect(looksDistance([], one)).toBeNull();
    expect(looksDistance([look()], [look({ torsoMinusFaceStops: 0.33 })], true)).toBeCloseTo(1, 9);
  });
});

describe('the sitters of an arrangement', () => {
  const legs = (fall: number) => ({ levelStops: -1, basis: 'skin' as const, faceToLowerBodyLightStops: fall });

  it('are told by number and by what their level is read from, whole frames aside', () => {
    const frames = trackOf(
      8,
      (i) => ({ sitter: i % 2, subjectLightStops: i }),
      (i) => (i < 4 ? {} : i < 6 ? { faceLevelStops: null, bodyLevelStops: 0 } : { person: false }),
    );
    const sitters = sittersIn(frames);
    expect([...sitters.keys()]).toEqual([0, 2, 1, 3]);
    expect([...sitters.values()].map((sitter) => sitter.subjectStops())).toEqual([1, 2, 4, 5]);
  });

  it('have a fall-off and a profile where two frames tell them', () => {
    const profile = (slope: number) => [0, 1, 2, 3, 4, 5].map((k) => (slope * k) / 6);
    const fake = (i: number): FakeFrame => ({ lowerBody: legs(0.2 * i), profileLevelsStops: profile(-1 - i) });
    const [two] = sittersIn(trackOf(2, () => ({}), fake)).values();
    expect([two!.fallOffStops(), two!.profileSlopeStops()]).toEqual([expect.closeTo(0.1, 9), expect.closeTo(-1.5, 9)]);
    const [one] = sittersIn(trackOf(1, () => ({}), fake)).values();
    expect([one!.fallOffStops(), one!.profileSlopeStops()]).toEqual([null, null]);
    expect(one!.looks()).toHaveLength(1);
  });
});

describe('sitters on both sides of a boundary', () => {
  const sitter = (
    subject: number | null,
    looks: Partial<AppearanceFacts> = {},
    told: Partial<Record<'fall' | 'profile', number>> = {},
  ): SeenSitter => ({
    looks: () => [look(looks)],
    subjectStops: () => subject,
    fallOffStops: () => told.fall ?? null,
    profileSlopeStops: () => told.profile ?? null,
  });
  const side = (...sitters: SeenSitter[]) => new Map(sitters.map((one, i) => [2 * i, one]));

  it('who go on tell by how much each became brighter, in the median', () => {
    const before = side(sitter(0), sitter(1), sitter(2));
    expect(sharedSubjectChange(before, side(sitter(0.5), sitter(1.7), sitter(2.6)))).toBeCloseTo(0.6, 9);
    expect(sharedSubjectChange(before, side())).toBeNull();
    expect(sharedSubjectChange(side(sitter(null)), side(sitter(1)))).toBeNull();
    expect(sharedSubjectChange(side(sitter(0)), new Map([[1, sitter(1)]]))).toBeNull();
  });

  it('go on only where they look alike: within three quarters of the usual scatter', () => {
    const now = (skinLogRg: number) => sharedSubjectChange(side(sitter(0)), side(sitter(1, { skinLogRg })));
    expect([now(0.134), now(0.136)]).toEqual([1, null]);
    expect(sharedSubjectChange(side(sitter(0)), side(sitter(1, UNKNOWN)))).toBeNull();
  });

  it('tell the fall-off by their own skin, else by their own bodies, else by everybody’s skin', () => {
    const of = (fall?: number, profile?: number, looks: Partial<AppearanceFacts> = {}) =>
      sitter(0, looks, { ...(fall === undefined ? {} : { fall }), ...(profile === undefined ? {} : { profile }) });
    expect(fallOffChange(side(of(0.5, -1)), side(of(0.9, -3)))).toEqual({
      stops: expect.closeTo(0.4, 9) as number,
      by: 'own-skin',
    });
    // A body that grows darker downwards has a falling profile: more fall-off is positive.
    expect(fallOffChange(side(of(undefined, -1)), side(of(0.9, -3)))).toEqual({ stops: 2, by: 'own-profile' });
    const other = { skinLogRg: 9 };
    const others = [of(0.8, undefined, other), of(1, undefined, other), of(1.2, undefined, other)];
    expect(fallOffChange(side(of(0.2), of(0.4)), side(...others))).toEqual({
      stops: expect.closeTo(0.7, 9) as number,
      by: 'other-skin',
    });
    expect(fallOffChange(side(...others), side(of(0.2), of(0.4))).stops).toBeCloseTo(-0.7, 9);
    expect(fallOffChange(side(of(0.2)), side(...others))).toEqual({ stops: null, by: null });
    expect(fallOffChange(side(...others), side(of(0.2)))).toEqual({ stops: null, by: null });
    expect(fallOffChange(side(of(0.2), of()), side(...others))).toEqual({ stops: null, by: null });
  });

  it('who are recognised by their looks have each to be the other’s nearest', () => {
    const a = { skinLogRg: 0 };
    const b = { skinLogRg: 0.9 };
    expect(recognisedSubjectChange(side(sitter(0, a), sitter(1, b)), side(sitter(1.5, b), sitter(0.5, a)))).toBeCloseTo(
      0.5,
      9,
    );
    const two = side(sitter(0, { skinLogRg: 0.02 }), sitter(5, { skinLogRg: 0.2 }));
    expect(recognisedSubjectChange(two, side(sitter(1, a)))).toBe(1);
    // Two later look-alikes of one sitter: only the nearer one is taken for them.
    const later = side(sitter(3, { skinLogRg: 0.1 }), sitter(0.4, { skinLogRg: 0.02 }));
    expect(recognisedSubjectChange(side(sitter(0, a)), later)).toBeCloseTo(0.4, 9);
    expect(recognisedSubjectChange(later, side(sitter(0, a)))).toBeCloseTo(-0.4, 9);
  });

  it('are recognised up to 1.6 scatters, and not without looks', () => {
    const now = (skinLogRg: number) => recognisedSubjectChange(side(sitter(0)), side(sitter(1, { skinLogRg })));
    expect([now(0.286), now(0.29)]).toEqual([1, null]);
    expect(recognisedSubjectChange(side(sitter(0)), side(sitter(1, UNKNOWN)))).toBeNull();
    expect(recognisedSubjectChange(side(), side(sitter(1)))).toBeNull();
    // Another light falls off otherwise from face to chest: 0.18 + 0.15 stop of scatter.
    expect(recognisedSubjectChange(side(sitter(0)), side(sitter(1, { torsoMinusFaceStops: 0.5 })))).toBe(1);
  });

  it('have a say where they are as alike as 0.6, or half as far again as the most alike', () => {
    const at = (base: number, distance: number) => ({ skinLogRg: base, skinLogBg: 0.28 * distance });
    const before = side(sitter(0, at(0, 0)), sitter(0, at(5, 0)), sitter(0, at(10, 0)));
    const changes = (...distances: number[]) =>
      recognisedSubjectChange(
        before,
        side(...distances.map((distance, i) => sitter([1, 2, 9][i]!, at(5 * i, distance)))),
      );
    expect(changes(0.1, 0.59, 0.61)).toBeCloseTo(1.5, 9);
    expect(changes(0.1, 0.59, 0.59)).toBeCloseTo(2, 9);
    expect(changes(1, 1.4, 1.55)).toBeCloseTo(1.5, 9);
    expect(changes(1, 1.4, 1.49)).toBeCloseTo(2, 9);
  });
});
