import { describe, expect, it } from 'vitest';
import { departureFlags } from '../../../src/shoot/causes/departure.js';
import { contextOf } from '../../support/frame-context.js';
import { codes } from '../../support/frame-flags.js';

/*
 * One frame against its set-up, the light and settings said outright. Tolerance 1/4 stop, response uncertain by 0.1 a stop,
 * so a fault needs |d| > 0.25 + 0.1 |d| + e: of the light alone, with e = 0.05, from a third of a stop on.
 */
describe('a set-up that nobody metered for', () => {
  const departed = (settingsStops: number, lightStops: number, sure = true) =>
    departureFlags(
      contextOf({
        setup: { id: 's2', departure: { fromSetupPlace: 0, settingsStops, lightStops, sure }, departedFromId: 's1' },
      }),
    );

  it('is told by what moved: the light', () => {
    const flags = departed(0, -0.5);
    expect(codes(flags)).toEqual(['level-off-baseline fault', 'light-changed fault']);
    expect(flags.map(({ because }) => because)).toEqual([
      'With the rest of s2 it is 0.50 stops darker than the level metered for in s1.',
      'All of s2 is 0.50 stops darker than s1 was metered for (the light moved or was turned, the settings stayed); +2 third-stop steps restore it.',
    ]);
    expect(flags.map(({ stops }) => stops)).toEqual([-0.5, -0.5]);
  });

  it('or a setting, which is known exactly: a fault past the tolerance itself', () => {
    expect(codes(departed(0.26, 0))).toEqual(['level-off-baseline fault', 'settings-changed fault']);
    expect(codes(departed(0, 0.26))).toEqual(['level-off-baseline check', 'light-changed check']);
    expect(codes(departed(0.25, 0))).toEqual([]);
    expect(departed(0.5, 0)[1]?.because).toMatch(
      /\(a setting was changed, the light stayed\); −2 third-stop steps restore it\.$/,
    );
    expect(codes(departed(0.5, -0.5))).toEqual([]);
    expect(codes(departed(0.25, 0.25))[1]).toMatch(/^light-changed/);
  });

  it('is a check where a pause lies between, and none where it departs from nothing', () => {
    expect(codes(departed(0, -1, false))).toEqual(['level-off-baseline check', 'light-changed check']);
    expect(departed(0, -1, false)[1]?.because).toMatch(
      /restore it\. It may be meant: a pause or a change of sitter lies between\.$/,
    );
    expect(departureFlags(contextOf())).toEqual([]);
  });
});
