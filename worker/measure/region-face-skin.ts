import { MAD_TO_SIGMA } from '../../src/photometry/robust-statistics.js';
import { medianAt, medianOf } from './median.js';
import { codesReachStops, smoothedColour, type LogChroma } from './region-chroma.js';
import { onFace, type FaceFrame } from './region-face-frame.js';
import type { Pixels } from './region-pixels.js';
import type { WorkingImage } from './working-image.js';

/** A pixel farther than this from the skin's median chromaticity (stops of R/G, of B/G) is not skin. */
const CHROMA_REACH = 0.3;
const CHROMA_REACH_SIGMAS = 3;
/** The middle of the oval, which sets the skin's colour: within this share of its half axes. */
export const CORE_SHARE = 0.77;

/**
 * Hair has often nearly the skin's chromaticity (brown on fair skin) but is far darker. Over the eyes, a pixel
 * this much darker (stops) than the cheek right below it, and less coloured than the skin, is hair. Column by
 * column, because one side of a face may be in shadow from forehead to chin.
 */
const HAIR_STOPS = 1.5;
const COLUMNS = 7;
const MIN_COLUMN_PIXELS = 8;
const NO_COLUMN = 255;

/**
 * Which of a face's candidate pixels are skin: of the chromaticity of the face's middle, and not hair. Clipped
 * pixels have no chromaticity and count as skin.
 * @returns per candidate 1 or 0, and the skin's median log chromaticity (null when all of it is clipped)
 */
export function skinOfFace(
  image: WorkingImage,
  frame: FaceFrame,
  candidates: Pixels,
): { isSkin: Uint8Array; chroma: LogChroma | null } {
  const colour = smoothedColour(image, candidates, Math.max(1, Math.round(0.04 * frame.eyesToMouthPx)));
  const count = candidates.length;
  const fromCentre = new Float32Array(count);
  const column = new Uint8Array(count);
  const belowEyes = new Float32Array(count);
  for (let k = 0; k < count; k++) {
    const x = candidates[k]! % image.widthPx;
    const y = (candidates[k]! - x) / image.widthPx;
    const { across, down } = onFace(frame, frame.centre, x + 0.5, y + 0.5);
    fromCentre[k] = Math.sqrt((across / frame.halfWidthPx) ** 2 + (down / frame.halfHeightPx) ** 2);
    column[k] = Math.max(0, Math.min(COLUMNS - 1, Math.floor((across / frame.halfWidthPx + 1) * 0.5 * COLUMNS)));
    belowEyes[k] = onFace(frame, frame.eyeMiddle, x + 0.5, y + 0.5).down / frame.eyesToMouthPx;
  }
  const isSkin = new Uint8Array(count).fill(1);
  const isWhole = new Uint8Array(count);
  const isCore = new Uint8Array(count);
  const cheekColumn = new Uint8Array(count).fill(NO_COLUMN);
  for (let k = 0; k < count; k++) {
    isWhole[k] = image.clippedShare[candidates[k]!] === 0 ? 1 : 0;
    isCore[k] = fromCentre[k]! < CORE_SHARE && isWhole[k] === 1 ? 1 : 0;
    if (belowEyes[k]! > 0.15 && belowEyes[k]! < 1) cheekColumn[k] = column[k]!;
  }
  const core = placesMarked(isCore, 1);
  const rg = medianAt(colour.rg, core);
  const bg = medianAt(colour.bg, core);
  if (rg === null || bg === null) return { isSkin, chroma: null };
  const reachRg = reachOf(colour.rg, core, rg);
  const reachBg = reachOf(colour.bg, core, bg);
  const cheekLogY = Array.from({ length: COLUMNS }, (_, wanted) => {
    const cheek = placesMarked(cheekColumn, wanted);
    return cheek.length < MIN_COLUMN_PIXELS ? null : medianAt(colour.logY, cheek);
  });
  for (let k = 0; k < count; k++) {
    if (isWhole[k] === 0) continue;
    const cheek = cheekLogY[column[k]!] ?? null;
    const lessColour = rg - colour.rg[k]! + colour.bg[k]! - bg > 0;
    const hair = belowEyes[k]! < 0 && cheek !== null && colour.logY[k]! < cheek - HAIR_STOPS && lessColour;
    const over = Math.max(Math.abs(colour.rg[k]! - rg) - reachRg, Math.abs(colour.bg[k]! - bg) - reachBg);
    // In the dark whole codes are far apart: what they alone can do to a colour does not make it another.
    const isOther = over > 0 && over > codesReachStops(image, colour.weakestLinear[k]!);
    if (hair || isOther) isSkin[k] = 0;
  }
  return { isSkin, chroma: { rg, bg } };
}

/** Places whose mark is the wanted one, ascending. */
function placesMarked(marks: Uint8Array, wanted: number): Int32Array {
  const out = new Int32Array(marks.length);
  let found = 0;
  for (let k = 0; k < marks.length; k++) if (marks[k] === wanted) out[found++] = k;
  return out.subarray(0, found);
}

function reachOf(values: Float32Array, places: Int32Array, middle: number): number {
  const apart = new Float32Array(places.length);
  for (let n = 0; n < places.length; n++) apart[n] = Math.abs(values[places[n]!]! - middle);
  return Math.max(CHROMA_REACH, CHROMA_REACH_SIGMAS * MAD_TO_SIGMA * (medianOf(apart) ?? 0));
}
