import { smoothedColour, medianOf, type LogChroma, type RegionColour } from './region-chroma.js';
import type { LegPixels } from './region-limbs.js';
import type { WorkingImage } from './working-image.js';

/**
 * What leg skin may differ from the face's skin, in stops of R/G and B/G (log chromaticity).
 * Legs are often redder or deeper than a face, seldom less coloured: cloth is. So the reach is longer away
 * from neutral than towards it. `aside` is across that direction (hue). Chosen on rendered figures.
 */
const REACH = { towardsNeutral: 0.3, awayFromNeutral: 0.65, aside: 0.28 } as const;
/** The direction of more colour for skin of any depth: R/G rises as B/G falls (unit vector). */
const MORE_COLOUR = { rg: 0.82, bg: -0.57 } as const;

/** Steps along the leg (hip 0, knee 1, ankle 2) in which material is compared. */
const STEP_ALONG = 0.04;
const STEPS = 50;
/** What lies nearer to the hip than this is taken as a garment: shorts, skirts and swimwear cover it. */
const HIP_ZONE = 0.14;
/** Change of material between two steps of the leg, three apart: a hem. */
const HEM_CHROMA = 0.16;
const HEM_STOPS = 0.55;

/** Areas of skin smaller than this share of the lower body are left out: a patch, a print, noise. */
const MIN_AREA_SHARE = 0.01;
const MIN_AREA_PIXELS = 24;

/**
 * Which pixels of a lower body are bare skin.
 *
 * 1. Chromaticity: like the face's skin, within `REACH`.
 * 2. Garments hang from the hips: what continues from the hips without a hem is cloth, even where its
 *    chromaticity is that of skin (brown trousers).
 * 3. Areas: single pixels are settled by their neighbours, small areas dropped.
 * @param skin the face skin's chromaticity; null (no face): nothing is called skin
 * @returns per pixel of `legs.pixels`, 1 skin, 0 cloth
 */
export function legSkinOf(image: WorkingImage, legs: LegPixels, skin: LogChroma | null): Uint8Array {
  const count = legs.pixels.length;
  if (!skin || count === 0) return new Uint8Array(count);
  const smoothPx = Math.max(1, Math.round(0.008 * legs.legLengthPx));
  const colour = smoothedColour(image, legs.pixels, smoothPx);
  const like = Uint8Array.from({ length: count }, (_, k) =>
    isLikeSkin(colour.rg[k]! - skin.rg, colour.bg[k]! - skin.bg) ? 1 : 0,
  );
  const firstBareStep = endOfGarment(legs, colour, like);
  for (let k = 0; k < count; k++) if (stepOf(legs.along[k]!) < firstBareStep) like[k] = 0;
  return withoutSmallAreas(image, legs.pixels, like);
}

function isLikeSkin(rg: number, bg: number): boolean {
  const colour = rg * MORE_COLOUR.rg + bg * MORE_COLOUR.bg;
  const aside = rg * -MORE_COLOUR.bg + bg * MORE_COLOUR.rg;
  const reach = colour < 0 ? REACH.towardsNeutral : REACH.awayFromNeutral;
  return (colour / reach) ** 2 + (aside / REACH.aside) ** 2 < 1;
}

function stepOf(along: number): number {
  return Math.min(STEPS - 1, Math.floor(along / STEP_ALONG));
}

/**
 * The first step along the leg that may be bare: 0 when the hips' garment is plainly not skin-coloured;
 * else the step after the first hem under the hips; else past the ankle (trousers).
 */
function endOfGarment(legs: LegPixels, colour: RegionColour, like: Uint8Array): number {
  const members: number[][] = Array.from({ length: STEPS }, () => []);
  legs.along.forEach((along, k) => members[stepOf(along)]!.push(k));
  const hips = members.slice(0, Math.ceil(HIP_ZONE / STEP_ALONG)).flat();
  if (hips.length === 0) return 0;
  const likeShare = hips.reduce((sum, k) => sum + like[k]!, 0) / hips.length;
  if (likeShare < 0.3) return 0;
  const material = members.map((ks) => (ks.length < 8 ? null : materialOf(ks, colour)));
  for (let step = Math.ceil(HIP_ZONE / STEP_ALONG); step < STEPS - 1; step++) {
    const above = material[step - 2];
    const below = material[step + 1];
    if (!above || !below) continue;
    const chroma = Math.hypot(above.rg - below.rg, above.bg - below.bg);
    if (chroma > HEM_CHROMA || Math.abs(above.logY - below.logY) > HEM_STOPS) return step + 1;
  }
  return STEPS;
}

function materialOf(members: readonly number[], colour: RegionColour): { rg: number; bg: number; logY: number } {
  const median = (values: Float32Array) => medianOf(Float32Array.from(members, (k) => values[k]!)) ?? 0;
  return { rg: median(colour.rg), bg: median(colour.bg), logY: median(colour.logY) };
}

/** Drops 4-connected areas of skin that are too small to be a leg's. */
function withoutSmallAreas(image: WorkingImage, pixels: readonly number[], like: Uint8Array): Uint8Array {
  const least = Math.max(MIN_AREA_PIXELS, MIN_AREA_SHARE * pixels.length);
  const place = new Map<number, number>();
  pixels.forEach((i, k) => {
    if (like[k]) place.set(i, k);
  });
  const out = Uint8Array.from(like);
  const seen = new Uint8Array(pixels.length);
  for (let k = 0; k < pixels.length; k++) {
    if (!like[k] || seen[k]) continue;
    const area = [k];
    seen[k] = 1;
    for (let at = 0; at < area.length; at++) {
      const i = pixels[area[at]!]!;
      for (const next of [i - 1, i + 1, i - image.widthPx, i + image.widthPx]) {
        const n = place.get(next);
        if (n === undefined || seen[n]) continue;
        seen[n] = 1;
        area.push(n);
      }
    }
    if (area.length < least) for (const n of area) out[n] = 0;
  }
  return out;
}
