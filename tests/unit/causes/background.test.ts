import { describe, expect, it } from 'vitest';
import { backgroundFlags } from '../../../src/shoot/causes/regions.js';
import { contextOf, type ToldContext } from '../../support/frame-context.js';
import { codes } from '../../support/frame-flags.js';

/* Parts of one frame against its set-up, all said outright; limits are those that each cause states beside its constants. */
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
