import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../samples/make/random.js';
import { invertMatrix, multiplyMatrix, multiplyVector } from '../../src/photometry/matrix3.js';
import { ADOBE_RGB_1998, SRGB, rgbToXyzMatrix } from '../../src/photometry/rgb-spaces.js';
import { linearToSrgbCode8Rounded } from '../../src/photometry/srgb.js';
import { ASSUMED_CAMERA_CURVE, STRAIGHT } from '../../src/photometry/tone-response.js';
import { WASM_BASE64 } from '../../worker/kernels/cells.wasm.js';
import { displayed } from '../../worker/measure/display.js';
import { compileKernel, KERNELS } from '../support/compile-kernel.js';

describe('cells in WebAssembly', () => {
  it('are what their source compiles to', () => {
    expect(Buffer.from(compileKernel(KERNELS[1].source)).toString('base64')).toBe(WASM_BASE64);
  });

  // The loop has no tables: a code may be the neighbour where light lies on its edge, and few are.
  it.each([
    ['sRGB, a camera curve', SRGB, ASSUMED_CAMERA_CURVE],
    ['Adobe RGB, no curve', ADOBE_RGB_1998, STRAIGHT],
  ])('show light as a plain loop in doubles does: %s', (_, space, curve) => {
    const random = seededRandom('cells');
    // More cells than are handed over at once; from black over all levels to far beyond white, and a little under none.
    const rgb = Float32Array.from({ length: 3 * 9001 }, (__, i) =>
      i < 6 ? -0.01 : i < 30 ? 40 : 0.18 * 2 ** (3 * random.normal()),
    );
    const toXyz = rgbToXyzMatrix(space);
    const toSrgb = multiplyMatrix(invertMatrix(rgbToXyzMatrix(SRGB)), toXyz);
    const { linearY, rgb8 } = displayed(rgb, toXyz, curve);
    let off = 0;
    for (let i = 0; i < rgb.length; i += 3) {
      const light = [rgb[i]!, rgb[i + 1]!, rgb[i + 2]!] as const;
      const y = Math.max(0, toXyz[3] * light[0] + toXyz[4] * light[1] + toXyz[5] * light[2]);
      expect(Math.abs(linearY[i / 3]! - y)).toBeLessThanOrEqual(3e-7 * y);
      const file = light.map((value) => curve.toFile(Math.min(16, Math.max(0, value)))) as [number, number, number];
      multiplyVector(toSrgb, file).forEach((value, c) => {
        const apart = Math.abs(rgb8[i + c]! - linearToSrgbCode8Rounded(Math.min(1, Math.max(0, value))));
        expect(apart).toBeLessThanOrEqual(1);
        off += apart;
      });
    }
    expect(off).toBeLessThan(0.04 * rgb8.length);
  });
});
