import { describe, expect, it } from 'vitest';
import { castFlags } from '../../../src/shoot/causes/cast.js';
import { contextOf, type ToldContext } from '../../support/frame-context.js';
import { codes } from '../../support/frame-flags.js';

/* Parts of one frame against its set-up, all said outright; limits are those that each cause states beside its constants. */
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
