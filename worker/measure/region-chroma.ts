import { invertMatrix, multiplyMatrix, type Matrix3 } from '../../src/photometry/matrix3.js';
import { SRGB, rgbToXyzMatrix } from '../../src/photometry/rgb-spaces.js';
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

/** Values a cell of the summed-area table: weight, red, green, blue. */
const SUMMED = 4;

/**
 * Colour of each pixel of a region averaged, in linear light, with its neighbours of the same region within
 * `radiusPx` (a square): noise and weave go, and nothing from outside the region leaks in.
 */
export function smoothedColour(image: WorkingImage, pixels: Pixels, radiusPx: number): RegionColour {
  const out: RegionColour = {
    rg: new Float32Array(pixels.length),
    bg: new Float32Array(pixels.length),
    logY: new Float32Array(pixels.length),
    weakestLinear: new Float64Array(pixels.length),
  };
  if (pixels.length === 0) return out;
  const { widthPx, linearRgb } = image;
  const { x0, y0, x1, y1 } = boundsOf(pixels, widthPx, image.heightPx);
  const wide = x1 - x0 + 1;
  const high = y1 - y0 + 1;
  const row = (wide + 1) * SUMMED;
  const table = summedArea(linearRgb, widthPx, pixels, { x0, y0, wide, high });
  const [rr, rgr, rb, gr, gg, gb, br, bgr, bb] = toSrgbMatrix(image);
  const [, , , yr = 0, yg = 0, yb = 0] = image.rgbToXyz;
  for (let k = 0; k < pixels.length; k++) {
    const i = pixels[k]!;
    const x = (i % widthPx) - x0;
    const y = Math.floor(i / widthPx) - y0;
    const left = Math.max(0, x - radiusPx) * SUMMED;
    const right = Math.min(wide, x + radiusPx + 1) * SUMMED;
    const top = Math.max(0, y - radiusPx) * row;
    const bottom = Math.min(high, y + radiusPx + 1) * row;
    const a = bottom + right;
    const b = bottom + left;
    const c = top + right;
    const d = top + left;
    const n = table[a]! - table[b]! - table[c]! + table[d]!;
    const red = (table[a + 1]! - table[b + 1]! - table[c + 1]! + table[d + 1]!) / n;
    const green = (table[a + 2]! - table[b + 2]! - table[c + 2]! + table[d + 2]!) / n;
    const blue = (table[a + 3]! - table[b + 3]! - table[c + 3]! + table[d + 3]!) / n;
    const logGreen = Math.log2(Math.max(FLOOR_LINEAR, gr * red + gg * green + gb * blue));
    out.rg[k] = Math.log2(Math.max(FLOOR_LINEAR, rr * red + rgr * green + rb * blue)) - logGreen;
    out.bg[k] = Math.log2(Math.max(FLOOR_LINEAR, br * red + bgr * green + bb * blue)) - logGreen;
    out.logY[k] = Math.log2(Math.max(FLOOR_LINEAR, yr * red + yg * green + yb * blue));
    out.weakestLinear[k] = Math.max(FLOOR_LINEAR, Math.min(red, green, blue));
  }
  return out;
}

/** Sums of weight, red, green and blue above and to the left; doubles keep small differences of large sums exact enough. */
function summedArea(
  linearRgb: Float32Array,
  widthPx: number,
  pixels: Pixels,
  { x0, y0, wide, high }: { x0: number; y0: number; wide: number; high: number },
): Float64Array {
  const row = (wide + 1) * SUMMED;
  const table = new Float64Array(row * (high + 1));
  for (let k = 0; k < pixels.length; k++) {
    const i = pixels[k]!;
    const to = (Math.floor(i / widthPx) - y0 + 1) * row + ((i % widthPx) - x0 + 1) * SUMMED;
    table[to] = 1;
    table[to + 1] = linearRgb[i * 3]!;
    table[to + 2] = linearRgb[i * 3 + 1]!;
    table[to + 3] = linearRgb[i * 3 + 2]!;
  }
  for (let y = 1; y <= high; y++) {
    let weight = 0;
    let red = 0;
    let green = 0;
    let blue = 0;
    for (let to = y * row + SUMMED, end = (y + 1) * row; to < end; to += SUMMED) {
      weight += table[to]!;
      red += table[to + 1]!;
      green += table[to + 2]!;
      blue += table[to + 3]!;
      table[to] = weight + table[to - row]!;
      table[to + 1] = red + table[to - row + 1]!;
      table[to + 2] = green + table[to - row + 2]!;
      table[to + 3] = blue + table[to - row + 3]!;
    }
  }
  return table;
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
