import { describe, expect, it } from 'vitest';
import { contrastFlags } from '../../../src/shoot/causes/regions.js';
import { contextOf, type ToldContext } from '../../support/frame-context.js';
import { codes } from '../../support/frame-flags.js';

/* Parts of one frame against its set-up, all said outright; limits are those that each cause states beside its constants. */
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
