import type { Box } from '../contracts/quantities.js';

const STRIPE = [26, 28, 34, 215] as const;
/** A preview is scaled and compressed again, which takes a code or two off clipped pixels. */
const PREVIEW_LOSS_CODES = 3;

/**
 * Slanted stripes over the clipped pixels inside a box: RGBA, 4 bytes a pixel, row-major, as large as the preview.
 *
 * @param rgb the preview, 3 bytes a pixel, row-major
 * @param box where the area lies, shares of the frame
 * @param fromCode8 codes at or above this count as clipped in the frame itself
 * @param stripePx width of a stripe; gaps are twice as wide
 */
export function hatchClipped(
  rgb: Uint8Array,
  widthPx: number,
  heightPx: number,
  box: Box,
  fromCode8: number,
  stripePx: number,
): Uint8Array {
  const rgba = new Uint8Array(widthPx * heightPx * 4);
  const least = fromCode8 - PREVIEW_LOSS_CODES;
  const left = Math.max(0, Math.floor(box.x * widthPx));
  const right = Math.min(widthPx, Math.ceil((box.x + box.width) * widthPx));
  const top = Math.max(0, Math.floor(box.y * heightPx));
  const bottom = Math.min(heightPx, Math.ceil((box.y + box.height) * heightPx));
  const period = Math.max(3, Math.round(stripePx * 3));
  const stripe = Math.max(1, Math.round(stripePx));
  for (let y = top; y < bottom; y += 1) {
    for (let x = left; x < right; x += 1) {
      if ((x + y) % period >= stripe) continue;
      const i = y * widthPx + x;
      const most = Math.max(rgb[i * 3] ?? 0, rgb[i * 3 + 1] ?? 0, rgb[i * 3 + 2] ?? 0);
      if (most >= least) rgba.set(STRIPE, i * 4);
    }
  }
  return rgba;
}
