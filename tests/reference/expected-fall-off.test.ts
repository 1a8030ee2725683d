import { readFileSync, readdirSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { STUDIO_DIR, STUDIO_PRESENT } from '../../samples/make/studio.js';
import { expectedFaceToLowerBodyStops } from '../../src/shoot/plan/expected-fall-off.js';
import { median } from '../../src/photometry/robust-statistics.js';

interface Part {
  pixels: number;
  meanLightLinear: number;
}
interface RenderTruth {
  lightToFaceM: number;
  lightAboveFaceM: number;
  lightSideM: number;
  figureHeightM: number;
  parts: { face: Part; upperLegs: Part; lowerLegs: Part };
}

function read(name: string): { truth: number; expected: number } {
  const render = JSON.parse(readFileSync(join(STUDIO_DIR, name), 'utf8')) as RenderTruth;
  const { face, upperLegs, lowerLegs } = render.parts;
  const legs =
    (upperLegs.meanLightLinear * upperLegs.pixels + lowerLegs.meanLightLinear * lowerLegs.pixels) /
    (upperLegs.pixels + lowerLegs.pixels);
  const expected = expectedFaceToLowerBodyStops({
    lightDistanceMetres: Math.sqrt(render.lightToFaceM ** 2 - render.lightAboveFaceM ** 2),
    lightRaisedMetres: render.lightAboveFaceM,
    lightWidthMetres: render.lightSideM,
    lightHeightMetres: render.lightSideM,
    statureMetres: render.figureHeightM,
  });
  return { truth: Math.log2(face.meanLightLinear / legs), expected: expected ?? NaN };
}

/** Truth: light on the parts of path-traced figures. bea's hair shades her face, which no geometry of a light knows. */
describe.skipIf(!STUDIO_PRESENT)(
  'fall-off by the light’s place, against renders (skipped where ../shared is absent)',
  () => {
    const names = STUDIO_PRESENT
      ? readdirSync(STUDIO_DIR).filter((name) => name.endsWith('.truth.json') && !name.startsWith('bea'))
      : [];

    it('is right within half a stop on every figure, a quarter in the median', () => {
      const errors = names.map((name) => {
        const { truth, expected } = read(name);
        return Math.abs(expected - truth);
      });
      expect(errors.length).toBeGreaterThanOrEqual(9);
      expect(Math.max(...errors)).toBeLessThan(0.5);
      expect(median(errors)).toBeLessThan(0.25);
    });

    it('tells by how much a light drawn near falls off more', () => {
      const [near, front] = [read('ada-near.truth.json'), read('ada-front.truth.json')];
      expect(near.expected - front.expected).toBeCloseTo(near.truth - front.truth, 0);
      expect(Math.abs(near.expected - front.expected - (near.truth - front.truth))).toBeLessThan(0.15);
    });
  },
);
