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
  if (!pixels.some((i) => clippedShare[i]! > 0)) return { linearY: image.linearY, lost: null };
  const linearY = image.linearY.slice();
  const lost = new Uint8Array(linearY.length);
  const ratios = ratiosToGreen(image, pixels);
  const greenTop = GREEN_AT_TOP_SHARE * fileScale.topLinear[1];
  for (const i of pixels) {
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

function ratiosToGreen(image: WorkingImage, pixels: Pixels): { red: number; blue: number } | null {
  const { linearRgb, clippedShare } = image;
  const whole = pixels.filter((i) => clippedShare[i] === 0 && linearRgb[i * 3 + 1]! > 0);
  const middle = medianOf(Float32Array.from(whole, (i) => linearRgb[i * 3 + 1]!));
  if (whole.length < MIN_PIXELS || middle === null) return null;
  const bright = whole.filter((i) => linearRgb[i * 3 + 1]! >= middle);
  const ratio = (c: number) =>
    medianOf(Float32Array.from(bright, (i) => linearRgb[i * 3 + c]! / linearRgb[i * 3 + 1]!))!;
  return { red: ratio(0), blue: ratio(2) };
}

/** Share of a region, or of a part of it, that is lost; 0 when empty. */
export function lostShareOf({ lost }: RestoredLight, pixels: Pixels): number {
  if (lost === null || pixels.length === 0) return 0;
  return pixels.reduce((sum, i) => sum + lost[i]!, 0) / pixels.length;
}
