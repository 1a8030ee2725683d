/** A preview's clipped pixels that lie together in areas worth showing. */
export interface ClippedAreas {
  /** 1 for every pixel of such an area, row-major, as large as the preview. */
  mask: Uint8Array;
  /** How many areas there are. */
  areas: number;
}

/** A preview is scaled and compressed again, which takes a code or a few off clipped pixels. */
const PREVIEW_LOSS_CODES = 3;
/** How much more of the preview than of the frame may count as clipped, since scaling fills the gaps between specks. */
const MOST_EXCESS = 1.1;

/**
 * The lowest code, at most three under the frame's own, from which on no more of the preview counts as clipped than of
 * the frame itself, so that nothing bright is shown as clipped that is not.
 *
 * @param most largest code of each pixel's channels
 */
function leastCode(most: Uint8Array, fromCode8: number, clippedShare: number): number {
  const counts = new Uint32Array(256);
  for (const code of most) counts[code]! += 1;
  const atLeast = (code: number): number => counts.subarray(code).reduce((n, count) => n + count, 0) / most.length;
  let code = fromCode8;
  while (code > fromCode8 - PREVIEW_LOSS_CODES && atLeast(code - 1) <= clippedShare * MOST_EXCESS) code -= 1;
  return code;
}

/**
 * Finds the connected areas (pixels that share an edge) of clipped pixels, from a least size up.
 *
 * @param rgb the preview, 3 bytes a pixel, row-major
 * @param fromCode8 codes at or above this count as clipped in the frame itself
 * @param clippedShare share of the frame with a clipped channel, 0..1
 * @param leastAreaShare areas under this share of the picture are left out, 0..1
 */
export function findClippedAreas(
  rgb: Uint8Array,
  { widthPx, heightPx }: { widthPx: number; heightPx: number },
  { fromCode8, clippedShare, leastAreaShare }: { fromCode8: number; clippedShare: number; leastAreaShare: number },
): ClippedAreas {
  const pixels = widthPx * heightPx;
  const most = new Uint8Array(pixels);
  for (let i = 0; i < pixels; i += 1) most[i] = Math.max(rgb[i * 3] ?? 0, rgb[i * 3 + 1] ?? 0, rgb[i * 3 + 2] ?? 0);
  const least = leastCode(most, fromCode8, clippedShare);
  const mask = new Uint8Array(pixels);
  const seen = new Uint8Array(pixels);
  const found = new Int32Array(pixels);
  let areas = 0;
  for (let start = 0; start < pixels; start += 1) {
    if (seen[start] === 1 || (most[start] ?? 0) < least) continue;
    let length = 1;
    found[0] = start;
    seen[start] = 1;
    for (let next = 0; next < length; next += 1) {
      const at = found[next] ?? 0;
      const x = at % widthPx;
      const neighbours = [x > 0 ? at - 1 : -1, x < widthPx - 1 ? at + 1 : -1, at - widthPx, at + widthPx];
      for (const to of neighbours) {
        if (to < 0 || to >= pixels || seen[to] === 1 || (most[to] ?? 0) < least) continue;
        seen[to] = 1;
        found[length] = to;
        length += 1;
      }
    }
    if (length < leastAreaShare * pixels) continue;
    areas += 1;
    for (let k = 0; k < length; k += 1) mask[found[k] ?? 0] = 1;
  }
  return { mask, areas };
}
