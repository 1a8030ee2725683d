import { describe, expect, it } from 'vitest';
import { lightFallStops, lowerBodyFlags } from '../../../src/shoot/causes/regions.js';
import { contextOf, type ToldContext } from '../../support/frame-context.js';
import type { FakeFrame } from '../../support/measurement.js';
import { codes } from '../../support/frame-flags.js';

/* Parts of one frame against its set-up, all said outright; limits are those that each cause states beside its constants. */
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
