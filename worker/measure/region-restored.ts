import { medianOf } from './median.js';
import { MIN_PIXELS, type Pixels } from './region-pixels.js';
import type { WorkingImage } from './working-image.js';

/** Green this near to its top (share) with anything clipped in the cell: how much light there was is not known. */
const GREEN_AT_TOP_SHARE = 0.95;

/** Luminance of a skin region, with what clipping took away restored where the file still tells it. */
export interface RestoredLight {
  /** height x width; differs from the image's luminance only inside the region. */
  linearY: Float32Array;
  /** height x width: 1 where the light is past the top of the file and only a lower bound is known. Null: nowhere. */
  lost: Uint8Array | null;
}

/**
 * Skin clips in red first, often long before green. Skin of one region has one colour, so where red (or blue) is
 * clipped and green is not, they follow from green and the region's own red : green (blue : green), taken where
 * nothing clips, in the brighter half of that, whose gloss is most alike. Where green is clipped nothing can be
 * restored. With no skin unclipped nothing is restored and all that is clipped is lost.
 */
export function restoredLight(image: WorkingImage, pixels: Pixels): RestoredLight {
  const { linearRgb, clippedShare, rgbToXyz, fileScale } = image;
  if (!isAnyClipped(clippedShare, pixels)) return { linearY: image.linearY, lost: null };
  const linearY = image.linearY.slice();
  const lost = new Uint8Array(linearY.length);
  const ratios = ratiosToGreen(image, pixels);
  const greenTop = GREEN_AT_TOP_SHARE * fileScale.topLinear[1];
  for (let k = 0; k < pixels.length; k++) {
    const i = pixels[k]!;
    if (clippedShare[i]! === 0) continue;
    const green = linearRgb[i * 3 + 1]!;
    if (ratios === null || green >= greenTop) lost[i] = 1;
    if (ratios === null) continue;
    const red = Math.max(linearRgb[i * 3]!, ratios.red * green);
    const blue = Math.max(linearRgb[i * 3 + 2]!, ratios.blue * green);
    linearY[i] = Math.max(linearY[i]!, rgbToXyz[3]! * red + rgbToXyz[4]! * green + rgbToXyz[5]! * blue);
  }
  return { linearY, lost };
}

function isAnyClipped(clippedShare: Float32Array, pixels: Pixels): boolean {
  for (let k = 0; k < pixels.length; k++) if (clippedShare[pixels[k]!]! > 0) return true;
  return false;
}

function ratiosToGreen(
  { linearRgb, clippedShare }: WorkingImage,
  pixels: Pixels,
): { red: number; blue: number } | null {
  const room = () => new Float32Array(pixels.length);
  const [red, green, blue] = [room(), room(), room()];
  let whole = 0;
  for (let k = 0; k < pixels.length; k++) {
    const i = pixels[k]!;
    const light = linearRgb[i * 3 + 1]!;
    if (clippedShare[i] !== 0 || light <= 0) continue;
    red[whole] = linearRgb[i * 3]! / light;
    blue[whole] = linearRgb[i * 3 + 2]! / light;
    green[whole++] = light;
  }
  const middle = medianOf(green.subarray(0, whole));
  if (whole < MIN_PIXELS || middle === null) return null;
  let bright = 0;
  for (let k = 0; k < whole; k++) {
    if (green[k]! < middle) continue;
    red[bright] = red[k]!;
    blue[bright++] = blue[k]!;
  }
  return { red: medianOf(red.subarray(0, bright))!, blue: medianOf(blue.subarray(0, bright))! };
}

/** Share of a region, or of a part of it, that is lost; 0 when empty. */
export function lostShareOf({ lost }: RestoredLight, pixels: Pixels): number {
  if (lost === null || pixels.length === 0) return 0;
  let sum = 0;
  for (let k = 0; k < pixels.length; k++) sum += lost[pixels[k]!]!;
  return sum / pixels.length;
}
