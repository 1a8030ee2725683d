import { describe, expect, it } from 'vitest';
import { levelFlags } from '../../../src/shoot/causes/level.js';
import { nearerText } from '../../../src/shoot/causes/nearer.js';
import { contextOf, type ToldContext } from '../../support/frame-context.js';
import { levelTold } from '../../support/frame-flags.js';

/*
 * One frame against its set-up, the light and settings said outright. Tolerance 1/4 stop, response uncertain by 0.1 a stop,
 * so a fault needs |d| > 0.25 + 0.1 |d| + e: of the light alone, with e = 0.05, from a third of a stop on.
 */
describe('a sitter who stands apart from a steady wall', () => {
  const apart = (lightStops: number, more: ToldContext = {}): ToldContext => ({
    ...more,
    light: { lightStops, subjectStops: lightStops, wallStops: 0.02, witnesses: 'disagree' },
  });

  it('may be another skin up to 0.42 stop; from there on worth a look, never a fault', () => {
    expect(levelTold(apart(0.42))).toEqual([]);
    expect(levelTold(apart(0.43))).toEqual(['face-bright check', 'level-off-baseline check']);
    expect(levelTold(apart(-2))).toEqual(['face-dark check', 'level-off-baseline check']);
  });

  it('is told against the wall; without a face it is the light', () => {
    const flags = levelFlags(contextOf({ ...apart(-0.5), before: [], after: [{}, {}] }));
    expect(flags[0]).toMatchObject({ region: 'face', stops: -0.5 });
    expect(flags[0]?.because).toBe(
      "The face is 0.50 stops darker than in this sitter's other frames while the background stands at +0.02: the sitter moved or turned in the light, or somebody else stands there.",
    );
    expect(levelFlags(contextOf(apart(-0.5)))[0]?.because).toMatch(
      /stands at \+0\.02\. The head is as large as in the frames around/,
    );
    expect(levelTold(apart(0.5, { fake: { faceLevelStops: null } }))).toEqual([
      'light-changed fault',
      'level-off-baseline check',
    ]);
  });
});

describe('the size of the head', () => {
  const grown = (factor: number, stops: number, told: ToldContext = {}) =>
    nearerText(contextOf({ ...told, fake: { faceHeightShare: 0.12 * factor, ...told.fake } }), stops);

  it('tells a sitter who came nearer: 2^0.5 as large is a stop by the inverse square', () => {
    expect(grown(2 ** 0.5, 1)).toBe(
      'The head is 1.41 times as large as in the frames around: the sitter stands nearer to the light, which by the inverse square gives +1.00 stop for a light beside the camera.',
    );
    expect(grown(2 ** -0.5, -1)).toMatch(/0\.71 times as large .* further from the light, .* gives −1\.00 stop/);
    // The step may miss the head's by 0.3 and a third of it: 1 +- 0.65.
    expect(grown(2 ** 0.5, 1.64)).not.toBeNull();
    expect(grown(2 ** 0.5, 1.66)).toBeNull();
    expect(grown(2 ** 0.5, -1)).toBeNull();
  });

  it('tells one who did not, where the light moved by more than a head would show', () => {
    expect(grown(1, 0.3)).toMatch(/^The head is as large as in the frames around/);
    expect(grown(1, -0.3)).toMatch(/^The head is as large/);
    expect(grown(1, 0.29)).toBeNull();
    expect(grown(2 ** 0.14, 0.5)).toMatch(/as large as/);
  });

  it('tells nothing of other sitters, other lenses, too few frames, or heads that scatter', () => {
    const two = [{}, {}];
    expect(grown(1, 0.5, { before: two, after: [] })).toBeNull();
    expect(grown(1, 0.5, { before: two, after: [{}] })).not.toBeNull();
    expect(grown(1, 0.5, { before: [{}, {}, {}, {}].map(() => ({ frame: { sitter: 1 } })), after: [] })).toBeNull();
    const zoomed = { fake: { focalLengthMm: 85 * 2 ** 0.16 } };
    expect(grown(1, 0.5, { before: [zoomed, zoomed, zoomed], after: [] })).toBeNull();
    const faceless = { fake: { faceLevelStops: null } };
    expect(grown(1, 0.5, { before: [faceless, faceless, {}, {}], after: [] })).toBeNull();
    const sized = (log2: number) => ({ fake: { faceHeightShare: 0.12 * 2 ** log2 } });
    expect(grown(1, 0.5, { before: [sized(-0.3), sized(0.3), sized(-0.3)], after: [sized(0.3), sized(0)] })).toBeNull();
    expect(
      grown(1, 0.5, { before: [sized(-0.2), sized(0.2), sized(-0.2)], after: [sized(0.2), sized(0)] }),
    ).not.toBeNull();
    expect(grown(1, 0.5, { fake: { faceLevelStops: null } })).toBeNull();
  });

  it('looks at four frames on each side', () => {
    const large = { fake: { faceHeightShare: 0.24 } };
    const near = [{}, {}, {}, {}];
    expect(grown(1, 0.5, { before: [large, large, large, ...near], after: [...near, large, large] })).toMatch(
      /as large as/,
    );
    expect(grown(1, 0.5, { before: [large, large, large], after: [] })).toBeNull();
  });
});
