import { describe, expect, it } from 'vitest';
import { driftFlags } from '../../../src/shoot/causes/drift.js';
import { contextOf, type ToldContext } from '../../support/frame-context.js';
import { codes, light } from '../../support/frame-flags.js';

/*
 * One frame against its set-up, the light and settings said outright. Tolerance 1/4 stop, response uncertain by 0.1 a stop,
 * so a fault needs |d| > 0.25 + 0.1 |d| + e: of the light alone, with e = 0.05, from a third of a stop on.
 */
describe('light that drifted', () => {
  const drift = { first: 0, stopsPerFrame: -0.01, errorStopsPerFrame: 0, witnesses: 'both' as const };
  const drifted = (driftStops: number, told: ToldContext = {}, more: object = {}) =>
    driftFlags(
      contextOf({ ...told, frame: { driftStops }, setup: { ...told.setup, drift: { ...drift, ...more } as never } }),
    );

  it('is told with its rate, and so is the level that it came to', () => {
    const flags = drifted(-0.5);
    expect(codes(flags)).toEqual(['light-changed fault', 'level-off-baseline fault']);
    expect(flags.map(({ because }) => because)).toEqual([
      'The light drifts through s1 (−1.00 stop in 100 frames, uncertain by 0.00): by this frame −0.50 stop; +2 third-stop steps undo it.',
      'The subject is 0.50 stops darker than s1 was metered for (drift −0.50; tolerance 0.25).',
    ]);
    expect(flags[1]).toMatchObject({ region: 'face', stops: -0.5 });
    expect(drifted(-0.5, { fake: { person: false } })[1]).toMatchObject({ region: 'frame' });
  });

  it('needs a drift past the tolerance, its uncertainty and half the frame’s own', () => {
    // One witness: 0.25 + half of half of 0.05.
    expect(codes(drifted(-0.26))).toEqual([]);
    expect(codes(drifted(-0.27))).toEqual(['light-changed check', 'level-off-baseline check']);
    // 8 frames on, 0.02 a frame uncertain: e = 0.16 and a little, so a check begins at 0.33.
    expect(codes(drifted(-0.32, {}, { errorStopsPerFrame: 0.02 }))).toEqual([]);
    expect(codes(drifted(-0.34, {}, { errorStopsPerFrame: 0.02 }))).toEqual([
      'light-changed check',
      'level-off-baseline check',
    ]);
    expect(codes(drifted(-0.34, {}, { errorStopsPerFrame: 0.02, first: 8 }))).toEqual([
      'light-changed fault',
      'level-off-baseline fault',
    ]);
    expect(codes(drifted(-1, {}, { witnesses: 'wall' }))).toEqual(['light-changed check', 'level-off-baseline check']);
  });

  it('is left to another cause where it is under half of what the frame is off by, or made up for', () => {
    expect(codes(drifted(-0.5, light(-0.5)))).toEqual(['light-changed fault', 'level-off-baseline fault']);
    expect(codes(drifted(-0.5, light(-0.51)))).toEqual([]);
    expect(codes(drifted(-0.5, light(0.4)))).toEqual([]);
    expect(codes(drifted(-0.5, light(0.375)))).toEqual(['light-changed fault', 'level-off-baseline fault']);
    expect(codes(drifted(0))).toEqual([]);
    expect(driftFlags(contextOf({ frame: { driftStops: -1 } }))).toEqual([]);
  });

  it('stands apart from what the set-up owes to an earlier one', () => {
    const departure = { fromSetupPlace: 0, settingsStops: -0.2, lightStops: -0.2, sure: true };
    expect(codes(drifted(-0.5, { ...light(0.45), setup: { departure } }))).toEqual([]);
    expect(codes(drifted(-0.5, { setup: { departure } }))).toHaveLength(2);
  });

  it('of a frame whose level is not known is told by the drift alone', () => {
    expect(drifted(-0.5, { light: { lightStops: null } })[1]).toMatchObject({ stops: -0.5 });
  });
});
