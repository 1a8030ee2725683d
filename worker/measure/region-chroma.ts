import { invertMatrix, multiplyMatrix, type Matrix3 } from '../../src/photometry/matrix3.js';
import { SRGB, rgbToXyzMatrix } from '../../src/photometry/rgb-spaces.js';
import { cellsKernel } from '../cells-kernel.js';
import { boundsOf, type Pixels } from './region-pixels.js';
import type { WorkingImage } from './working-image.js';

/** log2(R/G) and log2(B/G) of linear sRGB: unchanged by the amount of light; a change of white balance only shifts them. */
export interface LogChroma {
  rg: number;
  bg: number;
}

/** Smoothed colour of a region's pixels, in the order of `pixels`. */
export interface RegionColour {
  rg: Float32Array;
  bg: Float32Array;
  /** log2 of smoothed luminance. */
  logY: Float32Array;
  /** The least of red, green and blue, in linear light of the file's primaries; > 0. */
  weakestLinear: Float64Array;
}

/** Below this a channel of light is noise; keeps the logarithms finite. */
const FLOOR_LINEAR = 1e-5;

const XYZ_TO_SRGB = invertMatrix(rgbToXyzMatrix(SRGB));

/** The file's linear RGB -> linear sRGB, so that chromaticities of files with other primaries can be compared. */
function toSrgbMatrix(image: WorkingImage): Matrix3 {
  return multiplyMatrix(XYZ_TO_SRGB, image.rgbToXyz as Matrix3);
}

/**
 * Colour of each pixel of a region averaged, in linear light, with its neighbours of the same region within
 * `radiusPx` (a square): noise and weave go, and nothing from outside the region leaks in.
 *
 * @param pixels ascending
 */
export function smoothedColour(image: WorkingImage, pixels: Pixels, radiusPx: number): RegionColour {
  const count = pixels.length;
  if (count === 0)
    return {
      rg: new Float32Array(0),
      bg: new Float32Array(0),
      logY: new Float32Array(0),
      weakestLinear: new Float64Array(0),
    };
  const { widthPx, heightPx } = image;
  const { x0, x1 } = boundsOf(pixels, widthPx, heightPx);
  const columnsLength = 4 * (x1 - x0 + 1 + radiusPx);
  const settings = [...toSrgbMatrix(image), ...image.rgbToXyz.slice(3, 6), FLOOR_LINEAR];
  const { kernel, at, buffer } = cellsKernel({
    settings: 8 * settings.length,
    columns: 8 * columnsLength,
    pixels: 4 * count,
    rgb: 12 * count + 4,
    rg: 4 * count,
    bg: 4 * count,
    logY: 4 * count,
    weakest: 8 * count,
  });
  new Float64Array(buffer, at.settings).set(settings);
  new Float64Array(buffer, at.columns, columnsLength).fill(0);
  new Int32Array(buffer, at.pixels).set(pixels);
  // As they lie in memory: nothing is rounded or widened on the way.
  const bits = new Int32Array(image.linearRgb.buffer, image.linearRgb.byteOffset, image.linearRgb.length);
  const rgb = new Int32Array(buffer, at.rgb, 3 * count);
  for (let k = 0, to = 0; k < count; k++, to += 3) {
    const from = 3 * pixels[k]!;
    rgb[to] = bits[from]!;
    rgb[to + 1] = bits[from + 1]!;
    rgb[to + 2] = bits[from + 2]!;
  }
  kernel.smoothColours(at.pixels, count, widthPx, x0, radiusPx, at.rgb, at.columns, at.settings, at.rg, at.bg, at.logY, at.weakest); // prettier-ignore
  return {
    rg: new Float32Array(buffer, at.rg, count).slice(),
    bg: new Float32Array(buffer, at.bg, count).slice(),
    logY: new Float32Array(buffer, at.logY, count).slice(),
    weakestLinear: new Float64Array(buffer, at.weakest, count).slice(),
  };
}

/** How far rounding to codes alone may move `rg` or `bg` of a colour, in stops: half a code of its weakest channel. */
export function codesReachStops(image: WorkingImage, weakestLinear: number): number {
  return Math.log2(1 + (0.5 * image.fileScale.codeStepLinear(weakestLinear)) / weakestLinear);
}

/** log2(R/G), log2(B/G) of one linear colour of the image; null where a channel has no light. */
export function logChromaOf(image: WorkingImage, rgb: readonly [number, number, number]): LogChroma | null {
  const m = toSrgbMatrix(image);
  const [r, g, b] = rgb;
  const red = m[0] * r + m[1] * g + m[2] * b;
  const green = m[3] * r + m[4] * g + m[5] * b;
  const blue = m[6] * r + m[7] * g + m[8] * b;
  return red > 0 && green > 0 && blue > 0 ? { rg: Math.log2(red / green), bg: Math.log2(blue / green) } : null;
}

/** CIE 1931 x, y of one linear colour of the image; null for black. */
export function chromaticityOf(
  image: WorkingImage,
  rgb: readonly [number, number, number] | null,
): { x: number; y: number } | null {
  if (!rgb) return null;
  const m = image.rgbToXyz;
  const [r, g, b] = rgb;
  const X = m[0]! * r + m[1]! * g + m[2]! * b;
  const Y = m[3]! * r + m[4]! * g + m[5]! * b;
  const Z = m[6]! * r + m[7]! * g + m[8]! * b;
  const sum = X + Y + Z;
  return sum > 0 && Y > 0 ? { x: X / sum, y: Y / sum } : null;
}
