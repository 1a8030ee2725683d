import type { LowerBody, Face } from '../../src/contracts/people.js';

/** At least this share of the lower body bare: the light difference rests on `skin`. */
export const SKIN_BASIS_SHARE = 0.6;
/** At least this share bare: `mixed`. Below it: `clothing`, and no light difference is given. */
export const MIXED_BASIS_SHARE = 0.03;
/** Fewer bare pixels than this are not enough, whatever their share. */
export const MIN_SKIN_PIXELS = 60;

/**
 * Face skin and leg skin of one person differ by themselves. No published measurement has a leg site beside
 * the face; from sites that were measured (L* by body site: 20 Central-European women, 53 Korean women) about
 * +-0.3 stop is inferred. Taken as one standard deviation.
 */
export const FACE_TO_LEG_SKIN_SIGMA_STOPS = 0.3;
/** Half-width of an interval that holds 90 % of a normal distribution: Phi^-1(0.95). */
const HALF_WIDTH_90 = 1.645;
/** What the edge of the bare area may be wrong by, as one standard deviation, when only a few pixels are bare; falls with their number. */
const CLASSIFICATION_SIGMA_STOPS = 0.25;
const CLASSIFICATION_PIXELS = 400;
/** Clipped skin reads too dark: stops of standard deviation a share of 1 would add. */
const CLIPPED_SIGMA_STOPS = 1.5;
/**
 * Near the bottom of 8-bit codes a level is coarse: at -7.5 stops re mid-grey one sRGB code is a tenth of the light
 * (1/255/12.92 = 0.0003 against 0.001), and it doubles with each stop further down. Stops of standard deviation there.
 */
const DARK_FROM_LEVEL_STOPS = -7;
const DARK_SIGMA_STOPS = 0.15;

export type Basis = 'skin' | 'mixed' | 'clothing';

/** What the lower body showed. */
export function basisOf(lowerBody: LowerBody, skinPixels: number): Basis {
  if (skinPixels < MIN_SKIN_PIXELS || lowerBody.skinShare < MIXED_BASIS_SHARE) return 'clothing';
  return lowerBody.skinShare >= SKIN_BASIS_SHARE ? 'skin' : 'mixed';
}

/** What the light difference rests on, beside the levels. */
export interface LightEvidence {
  skinPixels: number;
  /** From the face's middle to the middle of the bare skin, and to the middle of the whole lower body, in pixels. */
  faceToSkinPx: number;
  faceToLowerBodyPx: number;
}

/**
 * The light's difference between face and legs, skin to skin, and the half-width of its 90 % interval.
 *
 * The difference is that of the light on the bare skin. The interval is wide enough to hold, too, the light's
 * difference to the whole lower body: bare shins stand farther from the light than covered thighs, and with
 * the light falling off evenly from face to skin the whole lower body's difference is smaller in proportion to
 * its distance; that gap counts as one standard deviation. It is added (root sum of squares) to the skins' own
 * difference, to the classification's (few pixels), to clipping's and to that of very dark codes, and the sum taken
 * 1.645 times.
 * @returns nulls when only clothing shows
 */
export function faceToLowerBodyLight(
  face: Face,
  lowerBody: LowerBody,
  basis: Basis,
  evidence: LightEvidence,
): { stops: number | null; uncertaintyStops: number | null } {
  if (basis === 'clothing' || face.levelStops === null || lowerBody.skinLevelStops === null) {
    return { stops: null, uncertaintyStops: null };
  }
  const stops = face.levelStops - lowerBody.skinLevelStops;
  const fewness = Math.min(1, CLASSIFICATION_PIXELS / Math.max(1, evidence.skinPixels));
  const classification = CLASSIFICATION_SIGMA_STOPS * Math.sqrt(fewness);
  const coverage = stops * (1 - evidence.faceToLowerBodyPx / Math.max(1, evidence.faceToSkinPx));
  const clipped = CLIPPED_SIGMA_STOPS * Math.min(1, face.clippedShare + lowerBody.clippedShare);
  const darkest = Math.min(face.levelStops, lowerBody.skinLevelStops);
  const dark = darkest < DARK_FROM_LEVEL_STOPS ? DARK_SIGMA_STOPS * 2 ** (DARK_FROM_LEVEL_STOPS - darkest) : 0;
  const sigma = Math.hypot(FACE_TO_LEG_SKIN_SIGMA_STOPS, classification, coverage, clipped, dark);
  return { stops, uncertaintyStops: HALF_WIDTH_90 * sigma };
}
