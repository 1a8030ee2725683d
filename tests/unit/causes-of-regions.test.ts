import { describe, expect, it } from 'vitest';
import type { Flag } from '../../src/contracts/report.js';
import { castFlags } from '../../src/shoot/causes/cast.js';
import { clippingFlags } from '../../src/shoot/causes/clipping.js';
import { dataFlags } from '../../src/shoot/causes/data.js';
import { backgroundFlags, contrastFlags, lightFallStops, lowerBodyFlags } from '../../src/shoot/causes/regions.js';
import { flagsOf, verdictOf } from '../../src/shoot/flags.js';
import { contextOf, type ToldContext } from '../support/frame-context.js';
import type { FakeFrame } from '../support/measurement.js';

/* Parts of one frame against its set-up, all said outright; limits are those that each cause states beside its constants. */
const codes = (flags: readonly Flag[]): string[] => flags.map(({ code, severity }) => `${code} ${severity}`);

describe('the colour of the light', () => {
  const cast = (mired: number | null, more: ToldContext['cast'] = {}, told: ToldContext = {}) =>
    castFlags(contextOf({ ...told, cast: { mired, duv: 0, ...more } }));

  it('is looked at from 15 mired under flash and 20 else, and off from 26 and 32', () => {
    expect(codes(cast(15))).toEqual([]);
    expect(codes(cast(15.1))).toEqual(['cast-shifted check']);
    expect(codes(cast(-26))).toEqual(['cast-shifted check']);
    expect(codes(cast(-26.1))).toEqual(['cast-shifted fault']);
    const continuous = { kind: 'continuous' } as const;
    expect(codes(cast(20, {}, continuous))).toEqual([]);
    expect(codes(cast(20.1, {}, continuous))).toEqual(['cast-shifted check']);
    expect(codes(cast(32, {}, continuous))).toEqual(['cast-shifted check']);
    expect(codes(cast(32.1, {}, continuous))).toEqual(['cast-shifted fault']);
    expect(codes(cast(null))).toEqual([]);
  });

  it('must stand out of the scatter of the set-up four times over', () => {
    expect(codes(cast(24, { spreadMired: 6 }))).toEqual([]);
    expect(codes(cast(24.1, { spreadMired: 6 }))).toEqual(['cast-shifted check']);
    expect(codes(cast(40, { spreadMired: 10 }))).toEqual([]);
    expect(codes(cast(40.1, { spreadMired: 10 }))).toEqual(['cast-shifted fault']);
  });

  it('by tint: looked at from 0.007 Duv, off from 0.014, where wall and skin agree', () => {
    expect(codes(cast(0, { duv: 0.007 }))).toEqual([]);
    expect(codes(cast(0, { duv: -0.0071 }))).toEqual(['cast-shifted check']);
    expect(codes(cast(0, { duv: 0.0141 }))).toEqual(['cast-shifted fault']);
    expect(codes(cast(16, { duv: 0.0141 }))).toEqual(['cast-shifted fault']);
    expect(codes(cast(27, { duv: 0.008 }))).toEqual(['cast-shifted fault']);
    expect(codes(cast(0, { duv: 0.02, witnesses: 'one' }))).toEqual([]);
    expect(codes(cast(0, { duv: null }))).toEqual([]);
  });

  it('of skin alone, or of the frame alone, is worth a look only', () => {
    const noWall = { fake: { wallMired: null } };
    expect(codes(cast(40, { witnesses: 'one' }, noWall))).toEqual(['cast-shifted check']);
    expect(codes(cast(40, { witnesses: 'one' }))).toEqual(['cast-shifted fault']);
    expect(codes(cast(40, { witnesses: 'both' }, noWall))).toEqual(['cast-shifted fault']);
  });

  it('is told with what filters it', () => {
    expect(cast(30, { duv: -0.004 })[0]?.because).toBe(
      'The light is 30 mired warmer and 0.004 Duv pinker than in the rest of s1 (looked at from 15 mired): filter by −30 mired, or check the white balance.',
    );
    expect(cast(-30)[0]?.because).toMatch(/^The light is 30 mired cooler than in .* filter by \+30 mired/);
    expect(cast(0.4, { duv: 0.01 })[0]?.because).toBe(
      'The light is 0.010 Duv greener than in the rest of s1 (looked at from 0.007 Duv): filter by −0.010 Duv, or check the white balance.',
    );
    expect(cast(-3, { duv: 0.01 })[0]?.because).toMatch(
      /3 mired cooler and 0\.010 Duv greener than .*: filter by \+3 mired and −0\.010 Duv,/,
    );
    expect(cast(30, { duv: 0.0019 })[0]?.because).not.toMatch(/Duv/);
  });

  it('is the ambient’s where the light is gone or cannot be told: a note', () => {
    const lit = (lightStops: number | null) => cast(60, {}, { light: { lightStops } });
    expect(codes(lit(-1.29))).toEqual(['cast-shifted fault']);
    expect(codes(lit(-1.3))).toEqual(['cast-shifted note']);
    expect(lit(-1.3)[0]?.because).toBe("With the light gone the ambient's colour is left: 60 mired warmer than s1.");
    expect(lit(null)[0]).toMatchObject({
      severity: 'note',
      because:
        "Nothing tells whether the light is there, so this may be the ambient's colour: 60 mired warmer than s1.",
    });
  });
});

describe('lost detail', () => {
  const lost = (fake: FakeFrame, medians: ToldContext['medians'] = {}) => clippingFlags(contextOf({ fake, medians }));

  it('in the face: looked at from a hundredth of it, off from a twentieth', () => {
    expect(codes(lost({ facesClippedShare: 0.01 }))).toEqual([]);
    expect(codes(lost({ facesClippedShare: 0.02 }))).toEqual(['face-clipped check']);
    expect(codes(lost({ facesClippedShare: 0.05 }))).toEqual(['face-clipped check']);
    expect(codes(lost({ facesClippedShare: 0.06 }))).toEqual(['face-clipped fault']);
    expect(lost({ facesClippedShare: 0.06 })[0]).toMatchObject({
      region: 'face',
      because:
        '6.0 % of the face is at the top of the scale in at least one channel (looked at from 1.0 %); no correction brings that back.',
    });
    expect(codes(lost({ faceLevelStops: null }))).toEqual([]);
  });

  it('in the frame: half a hundredth in one piece and a hundredth in all, off from three hundredths in one piece', () => {
    const high = (largestHighlightAreaShare: number, highlightsShare: number, medians = {}) =>
      lost({ largestHighlightAreaShare, highlightsShare }, medians);
    expect(codes(high(0.005, 0.02))).toEqual([]);
    expect(codes(high(0.006, 0.01))).toEqual([]);
    expect(codes(high(0.006, 0.011))).toEqual(['highlights-clipped check']);
    expect(codes(high(0.03, 0.04))).toEqual(['highlights-clipped check']);
    expect(codes(high(0.031, 0.04))).toEqual(['highlights-clipped fault']);
    expect(high(0.031, 0.2)[0]).toMatchObject({
      region: 'frame',
      because: '20 % of the frame is at the top of the scale, 3.1 % in one piece.',
    });
  });

  it('as in the rest of the set-up is a note; more than there counts by what is more', () => {
    const ground = { largestHighlightAreaShare: 0.2, highlightsShare: 0.3 };
    const high = (area: number, all: number) => lost({ largestHighlightAreaShare: area, highlightsShare: all }, ground);
    expect(codes(high(0.2049, 0.3099))).toEqual(['highlights-clipped note']);
    expect(high(0.2, 0.3)[0]?.because).toMatch(/20 % in one piece, as in the rest of s1\.$/);
    expect(codes(high(0.206, 0.3))).toEqual(['highlights-clipped check']);
    expect(codes(high(0.2, 0.311))).toEqual(['highlights-clipped check']);
    expect(codes(high(0.229, 0.33))).toEqual(['highlights-clipped check']);
    expect(codes(high(0.231, 0.33))).toEqual(['highlights-clipped fault']);
  });

  it('in the blacks: from eight hundredths, off from a quarter, against the set-up', () => {
    expect(codes(lost({ blacksShare: 0.08 }))).toEqual([]);
    expect(codes(lost({ blacksShare: 0.09 }))).toEqual(['blacks-clipped check']);
    expect(codes(lost({ blacksShare: 0.25 }))).toEqual(['blacks-clipped check']);
    expect(codes(lost({ blacksShare: 0.26 }))).toEqual(['blacks-clipped fault']);
    expect(lost({ blacksShare: 0.26 })[0]).toMatchObject({
      region: 'frame',
      because: '26 % of the frame is at the bottom of the scale.',
    });
    expect(codes(lost({ blacksShare: 0.5 }, { blacksShare: 0.43 }))).toEqual(['blacks-clipped note']);
    expect(lost({ blacksShare: 0.5 }, { blacksShare: 0.5 })[0]?.because).toMatch(/scale, as in the rest of s1\.$/);
    expect(codes(lost({ blacksShare: 0.5 }, { blacksShare: 0.41 }))).toEqual(['blacks-clipped check']);
    expect(codes(lost({ blacksShare: 0.5 }, { blacksShare: 0.24 }))).toEqual(['blacks-clipped fault']);
  });
});

describe('what is not there to judge by', () => {
  const data = (fake: FakeFrame, told: ToldContext = {}) => dataFlags(contextOf({ ...told, fake }));
  const whole: FakeFrame = { lowerBody: { levelStops: 0, basis: 'skin' } };

  it('is nothing of a whole frame', () => {
    expect(data(whole)).toEqual([]);
  });

  it('is told by name, always as a note', () => {
    expect(data({ ...whole, fNumber: null, iso: null })).toEqual([
      {
        code: 'no-exposure-data',
        severity: 'note',
        because:
          'The file does not tell fNumber, iso: it is judged on what it shows, settings and light not told apart.',
      },
    ]);
    expect(data({ ...whole, exposureTimeSeconds: null })[0]?.because).toMatch(/tell exposureTimeSeconds:/);
    expect(data({})).toEqual([
      {
        code: 'lower-body-not-in-frame',
        severity: 'note',
        region: 'lower-body',
        because: 'No lower body is in the frame, so nothing is said about light on it.',
      },
    ]);
    expect(data({ ...whole, confidence: 0.34 })).toEqual([
      {
        code: 'low-confidence',
        severity: 'note',
        because: 'The person was found with confidence 0.34 only (told under 0.35).',
      },
    ]);
    expect(data({ ...whole, confidence: 0.35 })).toEqual([]);
    expect(data(whole, { light: { witnesses: 'none' } })).toEqual([
      {
        code: 'low-confidence',
        severity: 'note',
        because:
          'Neither another frame of this sitter nor a readable background is there to compare with, so no level is judged.',
      },
    ]);
  });

  it('names what stands for a face: the body, else the whole frame', () => {
    expect(data({ ...whole, faceLevelStops: null, bodyLevelStops: -0.5 })).toEqual([
      {
        code: 'no-face',
        severity: 'note',
        because: 'No face with a level was found; the body stands for the subject.',
      },
    ]);
    expect(data({ ...whole, faceLevelStops: null })[0]?.because).toMatch(/; the whole frame stands/);
    expect(codes(data({ person: false }))).toEqual(['no-face note']);
  });
});

describe('the background', () => {
  const moved = (wallStops: number | null, lightStops: number | null = 0, told: ToldContext = {}) =>
    backgroundFlags(contextOf({ ...told, light: { wallStops, lightStops, witnesses: 'disagree' } }));

  it('is worth a look where it moved by one and a half tolerances and the subject did not; off from twice that', () => {
    expect(codes(moved(0.375))).toEqual([]);
    expect(codes(moved(0.376))).toEqual(['background-shifted check']);
    expect(codes(moved(-0.75))).toEqual(['background-shifted check']);
    expect(codes(moved(-0.76))).toEqual(['background-shifted fault']);
    expect(moved(-0.76)[0]).toMatchObject({
      stops: -0.76,
      region: 'background',
      because:
        'The background is 0.76 stops darker against the subject than in the rest of s1: its light changed, or other ground is seen.',
    });
  });

  it('counts against the subject, by what the set-up’s wall scatters, and only where the wall itself moved', () => {
    expect(moved(0.5, -0.5)[0]?.stops).toBe(1);
    expect(codes(moved(0.24, -1))).toEqual([]);
    expect(codes(moved(0.25, -1))).toEqual(['background-shifted fault']);
    expect(codes(moved(0.8, 0, { medians: { wallSpreadStops: 0.2 } }))).toEqual([]);
    expect(codes(moved(0.81, 0, { medians: { wallSpreadStops: 0.2 } }))).toEqual(['background-shifted check']);
    expect(codes(moved(0.376, 0, { medians: { wallSpreadStops: null } }))).toEqual(['background-shifted check']);
  });

  it('is none where both agree, or where one cannot be read', () => {
    expect(codes(moved(null))).toEqual([]);
    expect(codes(moved(1, null))).toEqual([]);
    for (const witnesses of ['both', 'wall', 'subject', 'none'] as const)
      expect(backgroundFlags(contextOf({ light: { wallStops: 1, lightStops: 0, witnesses } }))).toEqual([]);
  });
});

describe('side to side', () => {
  const sided = (sideToSideStops: number | null, told: ToldContext = {}) =>
    contrastFlags(contextOf({ ...told, fake: { sideToSideStops, ...told.fake } }));

  it('is looked at past 0.9 stop from the set-up’s 1, off past 1.5', () => {
    expect(codes(sided(1.875))).toEqual([]);
    expect(codes(sided(1.91))).toEqual(['contrast-shifted check']);
    expect(codes(sided(2.5))).toEqual(['contrast-shifted check']);
    expect(codes(sided(2.51))).toEqual(['contrast-shifted fault']);
    expect(codes(sided(0))).toEqual(['contrast-shifted check']);
    expect(sided(2.5)[0]).toMatchObject({
      stops: 1.5,
      region: 'face',
      because:
        "Side to side the face holds 2.50 stops, +1.50 against s1's 1.00: a light is off or moved, or the head turned.",
    });
    expect(codes(sided(null))).toEqual([]);
  });

  it('must stand out of the scatter, and of what this sitter’s face holds by itself', () => {
    expect(codes(sided(2.6, { medians: { sideToSideSpreadStops: 0.4 } }))).toEqual([]);
    expect(codes(sided(2.61, { medians: { sideToSideSpreadStops: 0.4 } }))).toEqual(['contrast-shifted fault']);
    expect(codes(sided(2.6, { medians: { sideToSideSpreadStops: null } }))).toEqual(['contrast-shifted fault']);
    const own = (stops: number): ToldContext => ({ medians: { sitterSideToSideStops: new Map([[0, stops]]) } });
    expect(codes(sided(2.6, own(2)))).toEqual([]);
    expect(codes(sided(2.6, own(1.5)))).toEqual(['contrast-shifted check']);
    expect(codes(sided(2.6, own(3.6)))).toEqual(['contrast-shifted check']);
    expect(codes(sided(2.6, own(0)))).toEqual(['contrast-shifted fault']);
  });

  it('needs four frames, light, and a set-up that shows it', () => {
    expect(codes(sided(3, { before: [{}, {}], after: [] }))).toEqual([]);
    expect(codes(sided(3, { before: [{}, {}, {}], after: [] }))).toEqual(['contrast-shifted fault']);
    expect(codes(sided(3, { medians: { sideToSideStops: null } }))).toEqual([]);
    expect(codes(sided(3, { light: { lightStops: -1.3 } }))).toEqual([]);
    expect(codes(sided(3, { light: { lightStops: -1.29 } }))).toEqual(['contrast-shifted fault']);
    expect(codes(sided(3, { light: { lightStops: null } }))).toEqual(['contrast-shifted fault']);
  });
});

describe('the lower body by skin', () => {
  const legs = (fall: number | null, told: ToldContext = {}, more = {}) =>
    lowerBodyFlags(
      contextOf({
        ...told,
        fake: {
          lowerBody: {
            levelStops: -0.5,
            basis: 'skin',
            faceToLowerBodyLightStops: fall,
            uncertaintyStops: 0.25,
            ...more,
          },
          ...told.fake,
        },
      }),
    );

  it('is dark past tolerance and uncertainty, off past twice the uncertainty', () => {
    expect(codes(legs(0.5))).toEqual([]);
    expect(codes(legs(0.51))).toEqual(['lower-body-dark check']);
    expect(codes(legs(0.75))).toEqual(['lower-body-dark check']);
    expect(codes(legs(0.76))).toEqual(['lower-body-dark fault']);
    expect(legs(0.76)[0]).toMatchObject({
      stops: 0.76,
      region: 'lower-body',
      because:
        'The lower body gets 0.76 stops less light than the face (skin against skin, uncertain by 0.25; tolerance 0.25).',
    });
  });

  it('is not told of cloth, of a person hardly found, nor where the light is gone', () => {
    expect(codes(legs(2, {}, { basis: 'clothing' }))).toEqual([]);
    expect(codes(legs(2, {}, { basis: 'mixed' }))).toEqual(['lower-body-dark fault']);
    expect(codes(legs(null))).toEqual([]);
    expect(codes(legs(2, { fake: { confidence: 0.39 } }))).toEqual([]);
    expect(codes(legs(2, { fake: { confidence: 0.4 } }))).toEqual(['lower-body-dark fault']);
    expect(codes(legs(2, { light: { lightStops: -1.3 } }))).toEqual([]);
    expect(codes(legs(2, { light: { lightStops: null } }))).toEqual(['lower-body-dark fault']);
    expect(codes(legs(2, { fake: { person: false } }))).toEqual([]);
  });

  it('has the sitter’s own leg skin taken out, by the uncertainty at most', () => {
    const of = (own: number) => legs(0.7, { medians: { sitterLegSkinStops: new Map([[0, own]]) } })[0]?.stops;
    expect(of(0.125)).toBeCloseTo(0.575, 9);
    expect(of(-0.125)).toBeCloseTo(0.825, 9);
    expect(of(-2)).toBeCloseTo(0.95, 9);
    expect(of(2)).toBeUndefined();
    const person = contextOf({ fake: { lowerBody: { levelStops: 0, basis: 'skin', faceToLowerBodyLightStops: 1 } } })
      .frame.facts.main;
    if (person === null) throw new Error('no person');
    // 0.3 stop where the measurement states no uncertainty.
    expect(lightFallStops({ ...person, faceToLowerBodyLightUncertaintyStops: null }, 1)).toBeCloseTo(0.7, 9);
    expect(lightFallStops({ ...person, faceToLowerBodyLightStops: null }, 1)).toBeNull();
  });
});

describe('the lower body by the same trousers', () => {
  type Told = Partial<FakeFrame> & { sitter?: number; wallLightStops?: number | null };
  /** Face 0.5; trousers so many stops under it. */
  const dressed = (under: number | null, { sitter = 0, wallLightStops = -1, ...fake }: Told = {}) => ({
    fake: {
      lowerBody: under === null ? null : ({ levelStops: 0.5 - under, basis: 'clothing' } as const),
      ...fake,
    },
    frame: { sitter, wallLightStops, subjectLightStops: 0.5 },
  });
  const trousers = (under: number, others: readonly ReturnType<typeof dressed>[], told: Told = {}) =>
    lowerBodyFlags(contextOf({ ...dressed(under, told), before: others, after: [] }));
  const lit = dressed(1);

  it('are dark against frames that show them lit, past one and a half tolerances and half an error', () => {
    const others = [lit, lit, lit, lit];
    // 1.5 x 0.25 + 0.15 / 2 = 0.45.
    expect(codes(trousers(1.45, others))).toEqual([]);
    expect(codes(trousers(1.46, others))).toEqual(['lower-body-dark check']);
    expect(codes(trousers(3, others))).toEqual(['lower-body-dark check']);
    expect(codes(trousers(0, others))).toEqual([]);
    expect(trousers(2, others)[0]).toMatchObject({
      stops: 1,
      region: 'lower-body',
      because:
        "The lower body is 1.00 stop darker against the face than in this sitter's other frames of s1, clothes and skin being the same (looked at from 0.38).",
    });
  });

  it('need two frames that show them lit, and no more that show them as dark', () => {
    const dark = dressed(2);
    expect(codes(trousers(2, [lit, dressed(null), dressed(null), dressed(null)]))).toEqual([]);
    expect(codes(trousers(2, [lit, lit, dressed(null), dressed(null)]))).toEqual(['lower-body-dark check']);
    expect(codes(trousers(2, [lit, lit, dark, dark]))).toEqual(['lower-body-dark check']);
    expect(codes(trousers(2, [lit, lit, dark, dark, dark]))).toEqual([]);
    // Lit alike within 0.4 stop of the brightest.
    expect(trousers(3, [dressed(1), dressed(1.375), dressed(1.5), lit])[0]?.stops).toBe(2);
  });

  it('are another’s where sitter, basis, face or clothes differ', () => {
    const none = (told: Told, under = 1) =>
      codes(
        trousers(
          2,
          [1, 2, 3, 4].map(() => dressed(under, told)),
        ),
      );
    expect(none({ sitter: 1 })).toEqual([]);
    expect(none({ wallLightStops: -1.26 })).toEqual([]);
    expect(none({ wallLightStops: -1.25 })).toEqual(['lower-body-dark check']);
    expect(none({ wallLightStops: null })).toEqual(['lower-body-dark check']);
    expect(none({ appearance: { torsoLogRg: 0.3 } })).toEqual([]);
    expect(none({ lowerBody: { levelStops: -0.5, basis: 'mixed' } })).toEqual([]);
  });
});

describe('all flags of a frame', () => {
  it('hold each code once, the worse of two, faults first, numbers to four decimals', () => {
    const flags = flagsOf(
      contextOf({
        fake: {
          faceLevelStops: 0.5,
          facesClippedShare: 0.02,
          confidence: 0.3,
          lowerBody: { levelStops: 0, basis: 'skin' },
        },
        light: { lightStops: 1.000049, witnesses: 'both' },
        cast: { mired: 20 },
      }),
    );
    expect(codes(flags)).toEqual([
      'light-changed fault',
      'level-off-baseline fault',
      'cast-shifted check',
      'face-clipped check',
      'low-confidence note',
    ]);
    expect(flags[0]?.stops).toBe(1);
    const departure = { fromSetupPlace: 0, settingsStops: 0, lightStops: 0.3, sure: true };
    const twice = flagsOf(contextOf({ light: { lightStops: -2 }, setup: { departure, departedFromId: 's0' } }));
    expect(twice.filter(({ code }) => code === 'level-off-baseline')).toMatchObject([{ severity: 'fault', stops: -2 }]);
  });

  it('make the verdict by the worst', () => {
    const flag = (severity: Flag['severity'], code: Flag['code'] = 'face-dark'): Flag => ({
      code,
      severity,
      because: '',
    });
    expect(verdictOf([])).toBe('consistent');
    expect(verdictOf([flag('note')])).toBe('consistent');
    expect(verdictOf([flag('note'), flag('check')])).toBe('check');
    expect(verdictOf([flag('check'), flag('fault')])).toBe('off');
    expect(verdictOf([flag('fault'), flag('fault', 'unreadable')])).toBe('unreadable');
  });
});
