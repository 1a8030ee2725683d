import type { ToneResponse } from '../../src/contracts/tone.js';
import { responseDoubtStops } from '../../src/photometry/tone-response.js';
import type { LowerBody } from '../../src/contracts/people.js';
import { LOST_SHARE, type SkinLevel } from './region-skin-level.js';

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
export const HALF_WIDTH_90 = 1.645;

export type Basis = 'skin' | 'mixed' | 'clothing';

/** What the lower body showed. */
export function basisOf(lowerBody: LowerBody, skinPixels: number): Basis {
  if (skinPixels < MIN_SKIN_PIXELS || lowerBody.skinShare < MIXED_BASIS_SHARE) return 'clothing';
  return lowerBody.skinShare >= SKIN_BASIS_SHARE ? 'skin' : 'mixed';
}

/** What the light difference rests on. */
export interface LightEvidence {
  face: SkinLevel;
  legSkin: SkinLevel;
  /** From the face's middle to the middle of the bare skin, and to the middle of the whole lower body, in pixels. */
  faceToSkinPx: number;
  faceToLowerBodyPx: number;
  toneResponse: ToneResponse;
}

export interface LightDifference {
  stops: number | null;
  /** Half-width of the 90 % interval. */
  uncertaintyStops: number | null;
  /** Why there is none, or why it is only a bound. */
  limit: string | null;
}

/**
 * The light's difference between face and legs, skin to skin, and the half-width of its 90 % interval: 1.645 times the
 * root sum of squares of
 *
 * - the skins' own difference, 0.3 stop (above);
 * - the tone response's doubt about the difference of the two levels (`responseDoubtStops`);
 * - coverage: bare shins stand farther from the light than covered thighs. The interval is to hold the light's
 *   difference to the whole lower body too, which with light falling off evenly is smaller in proportion to its distance;
 * - of either skin, what which part of it shows, where it ends, rounding to codes and lost highlights could move
 *   (`SkinDoubt`).
 *
 * With more than a quarter of either skin past the top of the file there is no difference, only a bound, which
 * `limit` names, less the tone response's part of the interval.
 */
export function faceToLowerBodyLight(basis: Basis, evidence: LightEvidence): LightDifference {
  const { face, legSkin } = evidence;
  if (basis === 'clothing' || face.levelStops === null || legSkin.levelStops === null) {
    return { stops: null, uncertaintyStops: null, limit: null };
  }
  const stops = face.levelStops - legSkin.levelStops;
  const tone = responseDoubtStops(evidence.toneResponse, face.levelStops, legSkin.levelStops);
  const useless = Math.max(face.lostShare, legSkin.lostShare) > LOST_SHARE.useless;
  if (useless)
    return { stops: null, uncertaintyStops: null, limit: boundOf(stops, HALF_WIDTH_90 * tone, face, legSkin) };
  const sigma = Math.hypot(
    FACE_TO_LEG_SKIN_SIGMA_STOPS,
    tone,
    stops * (1 - evidence.faceToLowerBodyPx / Math.max(1, evidence.faceToSkinPx)),
    ...doubtsOf(face),
    ...doubtsOf(legSkin),
  );
  return { stops, uncertaintyStops: HALF_WIDTH_90 * sigma, limit: null };
}

function doubtsOf({ doubt }: SkinLevel): number[] {
  return [doubt.samplingStops, doubt.maskStops, doubt.codesStops, doubt.lostStops];
}

function boundOf(stops: number, slackStops: number, face: SkinLevel, legSkin: SkinLevel): string {
  const share = (skin: SkinLevel) => `${Math.round(100 * skin.lostShare)} % of its skin`;
  if (!legSkin.isAtLeast)
    return `face clipped (${share(face)}): face minus leg skin is at least ${(stops - slackStops).toFixed(1)} stops`;
  if (!face.isAtLeast)
    return `legs clipped (${share(legSkin)}): face minus leg skin is at most ${(stops + slackStops).toFixed(1)} stops`;
  return `face and legs clipped (${share(face)}, ${share(legSkin)}): no difference of light between them can be told`;
}
