import { describe, expect, it } from 'vitest';
import { levelFlags } from '../../../src/shoot/causes/level.js';
import { contextOf, type ToldContext } from '../../support/frame-context.js';
import { codes, light } from '../../support/frame-flags.js';

/*
 * One frame against its set-up, the light and settings said outright. Tolerance 1/4 stop, response uncertain by 0.1 a stop,
 * so a fault needs |d| > 0.25 + 0.1 |d| + e: of the light alone, with e = 0.05, from a third of a stop on.
 */
describe('a set-up of two frames that differ', () => {
  const two = (own: number, other: number, told: ToldContext = {}) =>
    levelFlags(contextOf({ ...told, ...light(own), before: [], after: [light(other)] }));

  it('tells the whole difference, and that nothing says which is as meant', () => {
    const flags = two(0.5, -0.5);
    expect(codes(flags)).toEqual(['level-off-baseline check']);
    expect(flags[0]).toMatchObject({ stops: 1, region: 'face' });
    expect(flags[0]?.because).toBe(
      'It is 1.00 stop brighter than F002.jpg, the only other one of s1: nothing tells which of the two is as meant.',
    );
    expect(two(-0.2, 0.2)[0]?.because).toMatch(/0\.40 stops darker than F002\.jpg/);
    expect(two(0.5, -0.5, { fake: { person: false } })[0]).toMatchObject({ region: 'frame' });
  });

  it('is nothing within tolerance and half the error of both: 0.25 + 0.05 x sqrt(2) / 2 = 0.285', () => {
    expect(two(0.14, -0.14)).toEqual([]);
    expect(codes(two(0.145, -0.145))).toEqual(['level-off-baseline check']);
  });

  it('names a flash that plainly did not fire, on the dark one alone', () => {
    expect(codes(two(-0.75, 0.75))).toEqual(['light-missing fault', 'level-off-baseline fault']);
    expect(two(-0.75, 0.75)[0]).toMatchObject({ stops: -1.5 });
    expect(codes(two(0.75, -0.75))).toEqual(['level-off-baseline check']);
  });

  it('of which one cannot be read is no pair', () => {
    expect(levelFlags(contextOf({ ...light(0.5), before: [], after: [{ light: { lightStops: null } }] }))).toEqual([]);
  });
});
