import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../samples/make/random.js';
import { invertMatrix, multiplyMatrix, multiplyVector, type Matrix3 } from '../../src/photometry/matrix3.js';
import { rgbToXyzMatrix, SRGB } from '../../src/photometry/rgb-spaces.js';
import { smoothedColour } from '../../worker/measure/region-chroma.js';
import { paperDoll } from '../support/figures.js';

describe('smoothed colour of a region', () => {
  // Holes, gaps wider than the square, rows without a pixel, both edges of the image; from no light to a thousand times white.
  it.each([1, 3, 9])('is what plain means in doubles give, radius %d', (radius) => {
    const { image } = paperDoll({ skin: [0, 0, 0], hips: [0, 0, 0], shins: [0, 0, 0], torso: [0, 0, 0], wall: [0, 0, 0] }); // prettier-ignore
    const random = seededRandom('smooth');
    const { widthPx, heightPx, linearRgb } = image;
    for (let i = 0; i < linearRgb.length; i++) linearRgb[i] = i % 11 === 0 ? 0 : 0.2 * 2 ** (4 * random.normal());
    const isMember = (x: number, y: number) =>
      x >= 0 && y >= 0 && x < widthPx && y < heightPx &&
      (x < 25 || (x > 60 && x < 90) || x > 231) && y % 50 < 38 && (x * 7 + y * 13) % 10 > 2; // prettier-ignore
    const pixels = Int32Array.from({ length: widthPx * heightPx }, (_, i) => i).filter((i) =>
      isMember(i % widthPx, Math.floor(i / widthPx)),
    );
    const toSrgb = multiplyMatrix(invertMatrix(rgbToXyzMatrix(SRGB)), image.rgbToXyz as Matrix3);
    const colour = smoothedColour(image, pixels, radius);
    const log = (value: number) => Math.log2(Math.max(1e-5, value));
    expect(pixels.length).toBeGreaterThan(10_000);
    for (let k = 0; k < pixels.length; k += 7) {
      const [x, y] = [pixels[k]! % widthPx, Math.floor(pixels[k]! / widthPx)];
      const sums: [number, number, number] = [0, 0, 0];
      let count = 0;
      for (let v = y - radius; v <= y + radius; v++)
        for (let u = x - radius; u <= x + radius; u++) {
          if (!isMember(u, v)) continue;
          count++;
          for (let c = 0; c < 3; c++) sums[c]! += linearRgb[3 * (v * widthPx + u) + c]!;
        }
      const mean = sums.map((sum) => sum / count) as [number, number, number];
      const [red, green, blue] = multiplyVector(toSrgb, mean);
      const [, light] = multiplyVector(image.rgbToXyz as Matrix3, mean);
      // Floats of up to some 20 stops: their rounding is 1e-6.
      expect(Math.abs(colour.rg[k]! - (log(red) - log(green)))).toBeLessThan(2e-6);
      expect(Math.abs(colour.bg[k]! - (log(blue) - log(green)))).toBeLessThan(2e-6);
      expect(Math.abs(colour.logY[k]! - log(light))).toBeLessThan(2e-6);
      expect(Math.abs(colour.weakestLinear[k]! / Math.max(1e-5, Math.min(...mean)) - 1)).toBeLessThan(1e-9);
    }
  });

  it('is empty for an empty region', () => {
    const { image } = paperDoll({ skin: [0, 0, 0], hips: [0, 0, 0], shins: [0, 0, 0], torso: [0, 0, 0], wall: [0, 0, 0] }); // prettier-ignore
    expect(smoothedColour(image, new Int32Array(0), 3).rg).toHaveLength(0);
  });
});
