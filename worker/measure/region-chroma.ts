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
  /** How far rounding to codes alone may move `rg` or `bg`, in stops: half a code of the weakest channel. */
  codesStops: Float32Array;
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
 */
export function smoothedColour(image: WorkingImage, pixels: Pixels, radiusPx: number): RegionColour {
  const out: RegionColour = {
    rg: new Float32Array(pixels.length),
    bg: new Float32Array(pixels.length),
    logY: new Float32Array(pixels.length),
    codesStops: new Float32Array(pixels.length),
  };
  if (pixels.length === 0) return out;
  const { x0, y0, x1, y1 } = boundsOf(pixels, image.widthPx, image.heightPx);
  const wide = x1 - x0 + 1;
  const high = y1 - y0 + 1;
  // Summed-area tables of weight, R, G and B; Float64 keeps small differences of large sums exact enough.
  const stride = wide + 1;
  const tables = Array.from({ length: 4 }, () => new Float64Array(stride * (high + 1)));
  const [count, red, green, blue] = tables as [Float64Array, Float64Array, Float64Array, Float64Array];
  const at = (i: number) => {
    const x = i % image.widthPx;
    return { x: x - x0, y: (i - x) / image.widthPx - y0 };
  };
  for (const i of pixels) {
    const { x, y } = at(i);
    const to = (y + 1) * stride + x + 1;
    count[to] = 1;
    red[to] = image.linearRgb[i * 3]!;
    green[to] = image.linearRgb[i * 3 + 1]!;
    blue[to] = image.linearRgb[i * 3 + 2]!;
  }
  for (const table of tables) {
    for (let y = 1; y <= high; y++) {
      let row = 0;
      for (let x = 1; x <= wide; x++) {
        row += table[y * stride + x]!;
        table[y * stride + x] = row + table[(y - 1) * stride + x]!;
      }
    }
  }
  const m = toSrgbMatrix(image);
  for (let k = 0; k < pixels.length; k++) {
    const { x, y } = at(pixels[k]!);
    const left = Math.max(0, x - radiusPx);
    const right = Math.min(wide, x + radiusPx + 1);
    const top = Math.max(0, y - radiusPx) * stride;
    const bottom = Math.min(high, y + radiusPx + 1) * stride;
    const sum = (table: Float64Array) =>
      table[bottom + right]! - table[bottom + left]! - table[top + right]! + table[top + left]!;
    const n = sum(count);
    const r = sum(red) / n;
    const g = sum(green) / n;
    const b = sum(blue) / n;
    const logRed = Math.log2(Math.max(FLOOR_LINEAR, m[0] * r + m[1] * g + m[2] * b));
    const logGreen = Math.log2(Math.max(FLOOR_LINEAR, m[3] * r + m[4] * g + m[5] * b));
    const logBlue = Math.log2(Math.max(FLOOR_LINEAR, m[6] * r + m[7] * g + m[8] * b));
    out.rg[k] = logRed - logGreen;
    out.bg[k] = logBlue - logGreen;
    const weakest = Math.max(FLOOR_LINEAR, Math.min(r, g, b));
    out.codesStops[k] = Math.log2(1 + (0.5 * image.fileScale.codeStepLinear(weakest)) / weakest);
    out.logY[k] = Math.log2(
      Math.max(FLOOR_LINEAR, image.rgbToXyz[3]! * r + image.rgbToXyz[4]! * g + image.rgbToXyz[5]! * b),
    );
  }
  return out;
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

/** Median of typed values (the mean of the middle two for an even count); null when empty. */
export function medianOf(values: Float32Array): number | null {
  if (values.length === 0) return null;
  const sorted = Float32Array.from(values).sort();
  const middle = sorted.length >> 1;
  return sorted.length % 2 === 1 ? sorted[middle]! : (sorted[middle - 1]! + sorted[middle]!) / 2;
}
