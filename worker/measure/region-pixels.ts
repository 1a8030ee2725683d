import { levelStopsFromLinear } from '../../src/photometry/stops.js';
import { LightTally } from './light-tally.js';
import type { WorkingImage } from './working-image.js';

/** Pixels of a region: indices into the row-major planes of the working image. */
export type Pixels = Int32Array;

/** Collects pixel indices of a region whose size is not known beforehand. */
export class PixelList {
  private indices = new Int32Array(1024);
  private count = 0;

  push(index: number): void {
    if (this.count === this.indices.length) {
      const larger = new Int32Array(2 * this.count);
      larger.set(this.indices);
      this.indices = larger;
    }
    this.indices[this.count++] = index;
  }

  get length(): number {
    return this.count;
  }

  /** The indices so far; a view, not a copy. */
  pixels(): Pixels {
    return this.indices.subarray(0, this.count);
  }
}

/** The pixels whose mark, in the order of the list, is the wanted one. */
export function pixelsMarked(pixels: Pixels, marks: Uint8Array, wanted: number): Pixels {
  const out = new Int32Array(pixels.length);
  let count = 0;
  for (let k = 0; k < pixels.length; k++) if (marks[k] === wanted) out[count++] = pixels[k]!;
  return out.subarray(0, count);
}

/** Whole pixels, both ends included; empty when x1 < x0. */
export interface Bounds {
  x0: number;
  y0: number;
  x1: number;
  y1: number;
}

/** Fewer pixels than this give no level. */
export const MIN_PIXELS = 30;

/** Share cut from each end of a region's luminances before its mean: a button, a glint or an eye does not move a level. */
export const TRIM_SHARE = 0.03;

/** Regions larger than this are trimmed by a fine histogram instead of by sorting. */
export const SORTED_UP_TO = 2048;

/**
 * Mean of a plane over a region, in linear light, without the `trimShare` lowest and highest values.
 * Large regions are cut at bins of 1/64 of an octave, a bin that straddles the cut giving its own mean.
 * @param trimShare 0..0.5, of each end
 * @param tally of the same region, where there is one already
 * @returns null for an empty region
 */
export function trimmedMeanOver(
  plane: Float32Array,
  pixels: Pixels,
  trimShare: number,
  tally?: LightTally,
): number | null {
  if (pixels.length === 0) return null;
  const cut = cutOf(pixels.length, trimShare);
  if (pixels.length > SORTED_UP_TO) return (tally ?? LightTally.over(plane, pixels)).trimmedMean(cut);
  const values = new Float32Array(pixels.length);
  for (let k = 0; k < pixels.length; k++) values[k] = plane[pixels[k]!]!;
  values.sort();
  let sum = 0;
  for (let i = cut; i < values.length - cut; i++) sum += values[i]!;
  return sum / (values.length - 2 * cut);
}

/** How many of `count` values are cut at each end. */
function cutOf(count: number, trimShare: number): number {
  return Math.min(Math.floor(count * trimShare), Math.floor((count - 1) / 2));
}

/** Level of a region in stops re mid-grey: trimmed mean of luminance, then log2. Null with too few pixels or no light. */
export function regionLevelStops(
  image: WorkingImage,
  pixels: Pixels,
  trimShare = TRIM_SHARE,
  tally?: LightTally,
): number | null {
  if (pixels.length < MIN_PIXELS) return null;
  const mean = trimmedMeanOver(image.linearY, pixels, trimShare, tally);
  return mean === null ? null : levelStopsFromLinear(mean);
}

/** The same of a region of more than `SORTED_UP_TO` pixels by its tally. */
export function levelStopsOfTally(tally: LightTally, trimShare: number): number | null {
  return levelStopsFromLinear(tally.trimmedMean(cutOf(tally.pixels, trimShare)));
}

/** Share 0..1 of a region's source pixels with any channel clipped at the top. */
export function clippedShareOver(image: WorkingImage, pixels: Pixels): number {
  if (pixels.length === 0) return 0;
  let sum = 0;
  for (let k = 0; k < pixels.length; k++) sum += image.clippedShare[pixels[k]!]!;
  return Math.min(1, sum / pixels.length);
}

/** Mean linear RGB of a region without clipped cells; null when nothing is left. */
export function meanRgbOver(image: WorkingImage, pixels: Pixels): [number, number, number] | null {
  let red = 0;
  let green = 0;
  let blue = 0;
  let used = 0;
  for (let k = 0; k < pixels.length; k++) {
    const i = pixels[k]!;
    if (image.clippedShare[i]! > 0) continue;
    red += image.linearRgb[i * 3]!;
    green += image.linearRgb[i * 3 + 1]!;
    blue += image.linearRgb[i * 3 + 2]!;
    used++;
  }
  return used === 0 ? null : [red / used, green / used, blue / used];
}

/** Difference of two levels; null when either is missing. */
export function differenceStops(a: number | null, b: number | null): number | null {
  return a === null || b === null ? null : a - b;
}

/** Smallest bounds around pixels, which ascend. */
export function boundsOf(pixels: Pixels, widthPx: number, heightPx: number): Bounds {
  const bounds = { x0: widthPx, y0: heightPx, x1: -1, y1: -1 };
  for (let from = 0; from < pixels.length;) {
    const first = pixels[from]!;
    const y = Math.floor(first / widthPx);
    const row = y * widthPx;
    from = placeFrom(pixels, from, row + widthPx);
    bounds.x0 = Math.min(bounds.x0, first - row);
    bounds.x1 = Math.max(bounds.x1, pixels[from - 1]! - row);
    bounds.y0 = Math.min(bounds.y0, y);
    bounds.y1 = y;
  }
  return bounds;
}

/** The first place from `from` on whose pixel is not before `end`; pixels ascend. */
export function placeFrom(pixels: Pixels, from: number, end: number): number {
  let to = pixels.length;
  while (from < to) {
    const middle = (from + to) >> 1;
    if (pixels[middle]! < end) from = middle + 1;
    else to = middle;
  }
  return from;
}

/** Mean position of a region's pixels, in pixels; null for an empty region. */
export function middleOf(pixels: Pixels, widthPx: number): { x: number; y: number } | null {
  if (pixels.length === 0) return null;
  let sumX = 0;
  let sumY = 0;
  for (let k = 0; k < pixels.length; k++) {
    const x = pixels[k]! % widthPx;
    sumX += x + 0.5;
    sumY += (pixels[k]! - x) / widthPx + 0.5;
  }
  return { x: sumX / pixels.length, y: sumY / pixels.length };
}
