import { medianAt, rankedAt } from './median.js';
import { smoothedColour, type LogChroma, type RegionColour } from './region-chroma.js';
import { LEG_PARTS, type LegPixels } from './region-limbs.js';
import { skinDistance } from './region-skin-likeness.js';
import type { WorkingImage } from './working-image.js';

/** Bands across a leg, from hip (0) over knee (1) to ankle (2). */
const BAND_ALONG = 0.04;
const BANDS = 50;
/** A band with fewer pixels says nothing. */
const MIN_BAND_PIXELS = 6;
/**
 * A band is bare when at least this share of its core is like skin: legs are bare all across, patches are print or
 * light. The core is what lies nearest to the bone; the mask's edges hold background.
 */
const BARE_BAND_SHARE = 0.55;
const CORE_SHARE = 0.6;
/**
 * Where the garment at the hips is plainly of another colour (stops of chromaticity), skin may differ more from the
 * face's: light from the ground colours legs.
 */
const OTHER_GARMENT_CHROMA = 0.8;
const OTHER_GARMENT_REACH = 1.35;
/** Shorter bare runs are dropped, shorter gaps in them filled (bands). */
const MIN_RUN_BANDS = 2;
const MAX_GAP_BANDS = 2;
/** What lies nearer to the hip than this is a garment's: shorts, skirts and swimwear cover it. */
const HIP_BANDS = 3;
/** A hem: chromaticity changes by this much between the bands on either side. Shadows change it less. */
const HEM_CHROMA = 0.25;
const HEM_BANDS = 3;
/** A step of light as high as this inside a run parts two materials (a turned-up cuff and the shin). */
const STEP_STOPS = 0.8;
const STEP_BANDS = 2;
/** Inside a bare run a pixel is skin when it is this near to the run's own colour. */
const RUN_REACH = 0.4;

interface Band {
  /** Places in the list of leg pixels. */
  members: Int32Array;
  bareShare: number;
  rg: number;
  bg: number;
  logY: number;
}

/**
 * Which pixels of a lower body are bare skin.
 *
 * 1. Likeness: log chromaticity near the face skin's.
 * 2. Bands: a leg is bare all across or not at all.
 * 3. Hems: garments hang from the hips, so bare skin begins below a garment of another colour. What is like skin
 *    from the hips on is cloth, all of it (brown trousers, beige skirts): rather no skin than cloth for skin.
 * 4. Inside a bare run, pixels near the run's own colour are skin: knees and calves may differ from the face.
 * @param skin the face skin's chromaticity; null (no face): nothing is called skin
 * @returns per pixel of `legs.pixels`, 1 skin, 0 cloth
 */
export function legSkinOf(image: WorkingImage, legs: LegPixels, skin: LogChroma | null): Uint8Array {
  const isSkin = new Uint8Array(legs.pixels.length);
  if (!skin || legs.pixels.length === 0) return isSkin;
  const colour = smoothedColour(image, legs.pixels, Math.max(1, Math.round(0.006 * legs.legLengthPx)));
  for (const side of ['left', 'right']) {
    const bands = bandsOf(legs, colour, skin, side);
    for (const run of bareRuns(bands)) markRun(bands, run, colour, isSkin);
  }
  return isSkin;
}

function bandsOf(legs: LegPixels, colour: RegionColour, skin: LogChroma, side: string): (Band | null)[] {
  const { members, from } = byBand(legs, side);
  const hips = members.subarray(0, from[HIP_BANDS]);
  const garment =
    hips.length < MIN_BAND_PIXELS ? null : { rg: medianAt(colour.rg, hips)!, bg: medianAt(colour.bg, hips)! };
  const bands: (Band | null)[] = [];
  for (let band = 0; band < BANDS; band++) {
    const ks = members.subarray(from[band], from[band + 1]);
    bands.push(ks.length < MIN_BAND_PIXELS ? null : bandOf(legs, colour, skin, garment, ks));
  }
  return bands;
}

function bandOf(
  legs: LegPixels,
  colour: RegionColour,
  skin: LogChroma,
  garment: LogChroma | null,
  members: Int32Array,
): Band {
  const core = coreOf(legs, members);
  let like = 0;
  for (let n = 0; n < core.length; n++) {
    const rg = colour.rg[core[n]!]!;
    const bg = colour.bg[core[n]!]!;
    const distance = skinDistance(rg, bg, skin);
    const isOtherGarment =
      garment !== null && (rg - garment.rg) ** 2 + (bg - garment.bg) ** 2 > OTHER_GARMENT_CHROMA ** 2;
    if (distance < 1 || (distance <= OTHER_GARMENT_REACH && isOtherGarment)) like++;
  }
  return {
    members,
    bareShare: like / core.length,
    rg: medianAt(colour.rg, core)!,
    bg: medianAt(colour.bg, core)!,
    logY: medianAt(colour.logY, core)!,
  };
}

/** One leg's places in the list of pixels, band after band, each band's ascending; band b begins at `from[b]`. */
function byBand({ pixels, part, along }: LegPixels, side: string): { members: Int32Array; from: Int32Array } {
  const ofSide = Uint8Array.from(LEG_PARTS, (name) => (name.endsWith(side) ? 1 : 0));
  const NO_BAND = 255;
  const bandAt = new Uint8Array(pixels.length);
  const from = new Int32Array(BANDS + 1);
  for (let k = 0; k < bandAt.length; k++) {
    const band = ofSide[part[k]!] === 1 ? Math.min(BANDS - 1, Math.floor(along[k]! / BAND_ALONG)) : NO_BAND;
    bandAt[k] = band;
    if (band !== NO_BAND) from[band + 1]!++;
  }
  for (let band = 0; band < BANDS; band++) from[band + 1]! += from[band]!;
  const members = new Int32Array(from[BANDS]!);
  const next = from.slice();
  for (let k = 0; k < bandAt.length; k++) if (bandAt[k] !== NO_BAND) members[next[bandAt[k]!]!++] = k;
  return { members, from };
}

/** The members of a band nearest to the bone. */
function coreOf({ aside }: LegPixels, members: Int32Array): Int32Array {
  const limit = rankedAt(aside, members, Math.min(members.length - 1, Math.floor(CORE_SHARE * members.length)));
  const core = new Int32Array(members.length);
  let count = 0;
  for (let n = 0; n < members.length; n++) if (aside[members[n]!]! <= limit) core[count++] = members[n]!;
  return core.subarray(0, count);
}

/** Runs of bare bands [first, last] that begin at a hem below the hips, each cut to one material. */
function bareRuns(bands: readonly (Band | null)[]): [number, number][] {
  const bare = bands.map((band) => band !== null && band.bareShare >= BARE_BAND_SHARE);
  const runs: [number, number][] = [];
  for (let at = 0; at < bare.length; at++) {
    if (!bare[at]) continue;
    const last = runs[runs.length - 1];
    if (last && at - last[1] <= MAX_GAP_BANDS + 1) last[1] = at;
    else runs.push([at, at]);
  }
  return runs
    .filter(
      ([first, last]) =>
        first > HIP_BANDS && isHem(bands[first - HEM_BANDS], bands[Math.min(last, first + HEM_BANDS - 1)]),
    )
    .map((run) => longestOfOneMaterial(bands, run))
    .filter(([first, last]) => last - first + 1 >= MIN_RUN_BANDS);
}

function isHem(above: Band | null | undefined, below: Band | null | undefined): boolean {
  // Nothing seen above (a hand, the frame): the likeness alone must do.
  if (!below) return false;
  return !above || Math.hypot(above.rg - below.rg, above.bg - below.bg) > HEM_CHROMA;
}

/** The longest part of a run without a high step of light inside. */
function longestOfOneMaterial(bands: readonly (Band | null)[], [first, last]: [number, number]): [number, number] {
  let best: [number, number] = [first, first - 1];
  let start = first;
  for (let at = first; at <= last; at++) {
    const above = bands[at];
    const below = bands[at + STEP_BANDS];
    const step = at + STEP_BANDS <= last && above && below ? Math.abs(above.logY - below.logY) : 0;
    const ends = at === last || step > STEP_STOPS;
    if (!ends) continue;
    if (at - start > best[1] - best[0]) best = [start, at];
    start = at + STEP_BANDS;
    if (step > STEP_STOPS) at = start - 1;
  }
  return best;
}

function markRun(
  bands: readonly (Band | null)[],
  [first, last]: [number, number],
  colour: RegionColour,
  isSkin: Uint8Array,
): void {
  const inRun = bands.slice(first, last + 1).filter((band) => band !== null);
  const members = new Int32Array(inRun.reduce((count, band) => count + band.members.length, 0));
  let count = 0;
  for (const band of inRun) {
    members.set(band.members, count);
    count += band.members.length;
  }
  const rg = medianAt(colour.rg, members)!;
  const bg = medianAt(colour.bg, members)!;
  for (let n = 0; n < members.length; n++) {
    const k = members[n]!;
    if ((colour.rg[k]! - rg) ** 2 + (colour.bg[k]! - bg) ** 2 < RUN_REACH ** 2) isSkin[k] = 1;
  }
}
