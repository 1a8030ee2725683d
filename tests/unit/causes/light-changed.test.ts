import { describe, expect, it } from 'vitest';
import { levelFlags } from '../../../src/shoot/causes/level.js';
import { contextOf } from '../../support/frame-context.js';
import { levelTold, light, sentence } from '../../support/frame-flags.js';

/*
 * One frame against its set-up, the light and settings said outright. Tolerance 1/4 stop, response uncertain by 0.1 a stop,
 * so a fault needs |d| > 0.25 + 0.1 |d| + e: of the light alone, with e = 0.05, from a third of a stop on.
 */
describe('a change of the light', () => {
  it('is nothing within tolerance, looked at past it, a fault past what response and noise may explain', () => {
    expect(levelTold(light(0.25))).toEqual([]);
    expect(levelTold(light(0.26))).toEqual(['light-changed check', 'level-off-baseline check']);
    expect(levelTold(light(0.3))).toEqual(['light-changed check', 'level-off-baseline check']);
    expect(levelTold(light(0.34))).toEqual(['light-changed fault', 'level-off-baseline fault']);
    expect(levelTold(light(-0.34))).toEqual(['light-short fault', 'level-off-baseline fault']);
  });

  it('of one witness is looked at half an error later', () => {
    expect(levelTold(light(0.27, { witnesses: 'wall' }))).toEqual([]);
    expect(levelTold(light(0.28, { witnesses: 'wall' }))).toEqual(['light-changed check', 'level-off-baseline check']);
  });

  it('is told in stops, by what undoes it, and against what', () => {
    const flags = levelFlags(contextOf(light(1)));
    expect(flags[0]).toMatchObject({ stops: 1 });
    expect(sentence(flags, 'light-changed')).toBe(
      'The light on the subject rose by 1.00 stop against s1 with the settings accounted for: moved, turned or up; −3 third-stop steps undo it.',
    );
    expect(sentence(flags, 'level-off-baseline')).toBe(
      "The subject is 1.00 stop brighter than s1's baseline (settings +0.00, light +1.00; tolerance 0.25).",
    );
    expect(flags[1]).toMatchObject({ stops: 1, region: 'face' });
    expect(levelFlags(contextOf({ ...light(1), fake: { person: false } }))[1]).toMatchObject({ region: 'frame' });
  });

  it('is none where the level is not known', () => {
    expect(levelTold({ light: { lightStops: null } })).toEqual([]);
  });
});
