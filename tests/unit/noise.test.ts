import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../samples/make/random.js';
import { linearFromLevelStops } from '../../src/photometry/stops.js';
import { codeLightTable } from '../support/code-light.js';
import type { DecodedFrame } from '../../worker/decode/decoded-frame.js';
import { noiseOf } from '../../worker/measure/noise.js';

const WIDTH = 480;
const HEIGHT = 360;

/** A grey 16-bit frame, codes proportional to light, of the luminance that `at` gives. */
function greyFrame(at: (x: number, y: number) => number): DecodedFrame {
  const data = new Uint16Array(WIDTH * HEIGHT);
  for (let y = 0; y < HEIGHT; y++)
    for (let x = 0; x < WIDTH; x++) data[y * WIDTH + x] = Math.max(0, Math.min(65535, Math.round(65535 * at(x, y))));
  return codeLightTable({ data, widthPx: WIDTH, heightPx: HEIGHT, maxCode: 65535 });
}

const plain = (linear: number): number => linear;
const LEVEL_STOPS = -2.5;
const MEAN = linearFromLevelStops(LEVEL_STOPS);

function noisy(share: number, slope = 0, texture = 0): DecodedFrame {
  const random = seededRandom(`noise ${share}`);
  return greyFrame((x, y) => {
    const ground = MEAN * (1 + slope * (x / WIDTH - 0.5));
    const woven = x < WIDTH / 2 ? texture * MEAN * ((x + y) % 2 === 0 ? 1 : -1) : 0;
    return ground * (1 + share * random.normal()) + woven;
  });
}

describe('noise of flat parts', () => {
  it.each([0.01, 0.03, 0.1])('is the share that was put in: %s', (share) => {
    const { byLevel } = noiseOf(noisy(share), plain);
    expect(byLevel.map(({ fromStops }) => fromStops)).toEqual([-3]);
    const read = byLevel[0]?.noiseShare ?? NaN;
    // The quieter quarter of the parts reads a little low.
    expect(read / share).toBeGreaterThan(0.85);
    expect(read / share).toBeLessThan(1.02);
  });

  it('does not take a slope for noise, nor weave over half of the frame', () => {
    expect(noiseOf(noisy(0.02, 0.4), plain).byLevel[0]?.noiseShare).toBeCloseTo(0.019, 2);
    expect(noiseOf(noisy(0.02, 0, 0.2), plain).byLevel[0]?.noiseShare).toBeLessThan(0.022);
  });

  it('goes through the tone response: a curve of twice the slope shows twice the noise', () => {
    const square = noiseOf(noisy(0.02), (linear) => linear / 2).byLevel[0]?.noiseShare ?? NaN;
    const root = noiseOf(noisy(0.02), (linear) => Math.sqrt(linear)).byLevel[0]?.noiseShare ?? NaN;
    expect(root / square).toBeCloseTo(0.5, 1);
  });

  it('leaves out what is at an end of the scale', () => {
    expect(
      noiseOf(
        greyFrame(() => 0),
        plain,
      ).byLevel,
    ).toEqual([]);
    expect(
      noiseOf(
        greyFrame(() => 1),
        plain,
      ).byLevel,
    ).toEqual([]);
  });
});
