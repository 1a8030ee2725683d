import { PLAIN_RESPONSE } from '../support/figures.js';
import { describe, expect, it } from 'vitest';
import { measurePeople } from '../../worker/measure/people.js';
import { lostShareOf, restoredLight } from '../../worker/measure/region-restored.js';
import { codesDoubtStops } from '../../worker/measure/region-skin-level.js';
import { fileScaleOf } from '../../worker/measure/file-scale.js';
import { STRAIGHT } from '../../src/photometry/tone-response.js';
import { srgbCode8ToLinear } from '../../src/photometry/srgb.js';
import { luminanceOf, paperDoll } from '../support/figures.js';

type Rgb = [number, number, number];
const SKIN: Rgb = [0.5, 0.3, 0.22];
const level = (colour: Rgb, gain: number) => Math.log2((gain * luminanceOf(colour)) / 0.18);

/** A figure whose face's image-right half gets `gain` times the light, recorded by a file that ends at 1. */
function doll(gain: number) {
  const made = paperDoll({
    skin: SKIN,
    hips: [0.03, 0.05, 0.12],
    shins: SKIN.map((v) => v / 2) as Rgb,
    torso: [0.3, 0.3, 0.32],
    wall: [0.2, 0.2, 0.2],
  });
  const { image, found } = made;
  const { x, y, width, height } = found.face!.boxPx;
  for (let py = Math.floor(y) - 10; py < y + height + 10; py++) {
    for (let px = Math.floor(x + width / 2); px < x + width + 10; px++) {
      const i = py * image.widthPx + px;
      const rgb = [0, 1, 2].map((c) => image.linearRgb[i * 3 + c]! * gain);
      if (rgb.some((v) => v >= 1)) image.clippedShare[i] = 1;
      rgb.forEach((v, c) => (image.linearRgb[i * 3 + c] = Math.min(1, v)));
      image.linearY[i] = luminanceOf(rgb.map((v) => Math.min(1, v)) as Rgb);
    }
  }
  return { image, person: measurePeople(image, [found], PLAIN_RESPONSE).people[0]! };
}

describe('skin that clips', () => {
  it('in red alone is restored from green by the colour of the unclipped skin', () => {
    const { person } = doll(3);
    // Red would be 1.5; green is 0.9.
    expect(person.face!.brightSideLevelStops).toBeCloseTo(level(SKIN, 3), 2);
    expect(person.face!.sideToSideStops).toBeCloseTo(Math.log2(3), 1);
    expect(person.face!).toMatchObject({ levelIsAtLeast: false, lostShare: 0 });
    expect(person.face!.clippedShare).toBeGreaterThan(0.3);
    expect(person.limits).toEqual([]);
    expect(person.confidence).toBeGreaterThan(0.85);
  });

  it('in green too is only a lower bound: told as such, and no difference is made of it', () => {
    const { person } = doll(5);
    expect(person.face!.levelIsAtLeast).toBe(true);
    expect(person.face!.levelStops!).toBeLessThan(level(SKIN, 3.1));
    expect(person.face!.sideToSideStops).toBeNull();
    expect(person.faceToLowerBodyLightStops).toBeNull();
    expect(person.limits).toEqual([
      expect.stringMatching(/^face clipped \(\d+ % of its skin\): its level is at least \d\.\d stops$/),
      expect.stringMatching(/^bright side of the face clipped .*: side to side is at least \d\.\d stops$/),
      expect.stringMatching(/^face clipped .*: face minus leg skin is at least \d\.\d stops$/),
    ]);
    const bound = Number(/side to side is at least (\d\.\d)/.exec(person.limits[1]!)![1]);
    expect(bound).toBeLessThanOrEqual(Math.log2(5));
    expect(person.confidence).toBeLessThan(0.7);
  });

  it('with none of it unclipped nothing is restored and all is lost', () => {
    const { image } = doll(1);
    const pixels = Int32Array.from({ length: 200 }, (_, k) => k);
    for (const i of pixels) image.clippedShare[i] = 1;
    const light = restoredLight(image, pixels);
    expect(lostShareOf(light, pixels)).toBe(1);
    expect([...pixels].every((i) => light.linearY[i] === image.linearY[i])).toBe(true);
    expect(lostShareOf(restoredLight(image, new Int32Array(0)), new Int32Array(0))).toBe(0);
  });
});

describe('rounding to codes', () => {
  const table = Float32Array.from({ length: 256 }, (_, code) => srgbCode8ToLinear(code));
  const fileScale = fileScaleOf(
    { codeToLinear: [table, table, table], clipFromCode: [255, 255, 255], maxCode: 255 },
    STRAIGHT,
  );

  it('knows the top of the file and the width of a code', () => {
    expect(fileScale.topLinear).toEqual([1, 1, 1]);
    // IEC 61966-2-1: the straight part near black has 1 / 255 / 12.92 a code.
    expect(fileScale.codeStepLinear(0.001)).toBeCloseTo(1 / 255 / 12.92, 8);
    expect(fileScale.codeStepLinear(0)).toBeCloseTo(1 / 255 / 12.92, 8);
    expect(fileScale.codeStepLinear(5)).toBeCloseTo(1 - srgbCode8ToLinear(254), 6);
  });

  it('makes levels doubtful in the dark: by less than a hundredth at mid-grey, by a third of a stop at the first code', () => {
    const image = { ...doll(1).image, fileScale };
    expect(codesDoubtStops(image, 0.18)).toBeLessThan(0.01);
    // A code as wide as the level itself, evenly rounded: log2(1 + 1 / root of 12).
    expect(codesDoubtStops(image, 1 / 255 / 12.92)).toBeCloseTo(Math.log2(1 + 1 / Math.sqrt(12)), 2);
  });
});
