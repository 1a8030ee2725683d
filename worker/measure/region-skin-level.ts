import { levelStopsFromLinear } from '../../src/photometry/stops.js';
import { MIN_PIXELS, trimmedMeanOver, TRIM_SHARE, type Pixels } from './region-pixels.js';
import { lostShareOf, type RestoredLight } from './region-restored.js';
import type { WorkingImage } from './working-image.js';

/**
 * Lost skin (past the top of the file) up to the trimmed share moves a level little and is passed over; above it a level is
 * only a lower bound; above the second limit nothing is made of it.
 */
export const LOST_SHARE = { bound: TRIM_SHARE, useless: 0.25 } as const;

/**
 * Lost skin is taken to be at most this far over the top of the file. Skin of one face in one light spans about two
 * stops between shadow and gloss; ours, no published figure.
 */
const LOST_OVER_TOP_STOPS = 1;
/** Cells this many to a patch are alike: a region of n cells counts as n / 25 samples. Ours: masks and chromaticity are smooth over about five cells. */
const CELLS_A_PATCH = 25;

/** Level of a skin region and what each thing could move it by, as one standard deviation in stops. */
export interface SkinLevel {
  /** Null with too few pixels or no light. */
  levelStops: number | null;
  lostShare: number;
  /** More is lost than the trimming takes away: the true level is this or higher. */
  isAtLeast: boolean;
  doubt: SkinDoubt;
}

export interface SkinDoubt {
  /** Which part of the skin shows: spread of the region over the root of its independent patches. */
  samplingStops: number;
  /** Where the region ends: anywhere between its core and its edge, evenly, so what the core alone reads over the root of 12. */
  maskStops: number;
  /** Rounding to whole codes: a code's width at that level over the root of 12, not averaged away (flat, dark areas round alike). */
  codesStops: number;
  /** What lost skin could add. */
  lostStops: number;
}

const NONE: SkinDoubt = { samplingStops: 0, maskStops: 0, codesStops: 0, lostStops: 0 };

/**
 * Level of a skin region: trimmed mean of its luminance with clipped red and blue restored, and its doubts.
 * @param light of the same region, or of one that it is part of
 * @param core the inner part of the same region
 */
export function skinLevelOf(image: WorkingImage, light: RestoredLight, pixels: Pixels, core: Pixels): SkinLevel {
  const lostShare = lostShareOf(light, pixels);
  const isAtLeast = lostShare > LOST_SHARE.bound;
  const mean = pixels.length < MIN_PIXELS ? null : trimmedMeanOver(light.linearY, pixels, TRIM_SHARE);
  const levelStops = mean === null ? null : levelStopsFromLinear(mean);
  if (mean === null || levelStops === null) return { levelStops: null, lostShare, isAtLeast, doubt: NONE };
  const coreMean = core.length < MIN_PIXELS ? null : trimmedMeanOver(light.linearY, core, TRIM_SHARE);
  const [, , , red = 0, green = 0, blue = 0] = image.rgbToXyz;
  const [topRed, topGreen, topBlue] = image.fileScale.topLinear;
  const top = red * topRed + green * topGreen + blue * topBlue;
  return {
    levelStops,
    lostShare,
    isAtLeast,
    doubt: {
      samplingStops: Math.log2(1 + relativeSpread(light.linearY, pixels) * Math.sqrt(CELLS_A_PATCH / pixels.length)),
      maskStops: coreMean === null || coreMean <= 0 ? 0 : Math.abs(Math.log2(coreMean / mean)) / Math.sqrt(12),
      codesStops: codesDoubtStops(image, mean),
      lostStops: Math.log2(1 + (lostShare * top * (2 ** LOST_OVER_TOP_STOPS - 1)) / mean),
    },
  };
}

/** Standard deviation of a level of that light by rounding to whole codes, in stops. */
export function codesDoubtStops(image: WorkingImage, linearY: number): number {
  return Math.log2(1 + image.fileScale.codeStepLinear(linearY) / Math.sqrt(12) / linearY);
}

/** Standard deviation over mean. */
function relativeSpread(plane: Float32Array, pixels: Pixels): number {
  let sum = 0;
  let squares = 0;
  for (let k = 0; k < pixels.length; k++) {
    const light = plane[pixels[k]!]!;
    sum += light;
    squares += light ** 2;
  }
  const mean = sum / pixels.length;
  return mean > 0 ? Math.sqrt(Math.max(0, squares / pixels.length - mean * mean)) / mean : 0;
}
