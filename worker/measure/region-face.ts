import { MAD_TO_SIGMA } from '../../src/photometry/robust-statistics.js';
import type { FoundPerson, Point } from '../people/port.js';
import { medianOf, smoothedColour, type LogChroma } from './region-chroma.js';
import { PixelList, pixelsWhere, type Pixels } from './region-pixels.js';
import type { WorkingImage } from './working-image.js';

/** The oval of a face and the axes it stands on, in pixels. */
export interface FaceFrame {
  centre: Point;
  /** Unit vector from the eyes to the mouth. */
  down: Point;
  /** Unit vector to the right of `down` on screen when `down` points down. */
  across: Point;
  halfWidthPx: number;
  halfHeightPx: number;
  /** Eyes to mouth. */
  eyesToMouthPx: number;
  /** Where the line through nose, eye middle and mouth lies, along `across` from `centre`. */
  middleAcrossPx: number;
  eyes: readonly [Point, Point];
  mouth: Point;
}

export interface FaceRegion {
  frame: FaceFrame;
  /** The oval, inside the person's mask. */
  oval: Pixels;
  /** Skin of the oval: without eyes, brows, mouth, hair, beard and what else is not of the skin's colour. */
  skin: Pixels;
  /** Median log chromaticity of the skin; null when all is clipped. */
  chroma: LogChroma | null;
  /** Skin on the image-left and image-right side of the middle line. */
  left: Pixels;
  right: Pixels;
}

/**
 * Proportions in units of eyes-to-mouth distance, from adult anthropometry (from memory: eyes to mouth about
 * 65 mm, chin 105 mm under the eyes, hairline 70 mm over them, face about 135 mm wide). The oval stops short
 * of hairline and jaw.
 */
const OVAL = { belowEyes: 0.5, halfHeight: 1.3, halfWidth: 1.08, leastHalfWidth: 0.6 } as const;
const EYE = { halfWidth: 0.28, halfHeight: 0.14, browsAbove: 0.1 } as const;
const MOUTH = { halfWidth: 0.42, halfHeight: 0.16 } as const;

/** A pixel farther than this from the skin's median chromaticity (stops of R/G and B/G) is not skin. */
const CHROMA_REACH = 0.35;
const CHROMA_REACH_SIGMAS = 3;

/** The oval and axes of a found face. */
export function faceFrameOf(keypoints: readonly Point[]): FaceFrame | null {
  const [rightEye, leftEye, nose, mouth, rightEar, leftEar] = keypoints;
  if (!rightEye || !leftEye || !nose || !mouth || !rightEar || !leftEar) return null;
  const eyeMiddle = { x: (rightEye.x + leftEye.x) / 2, y: (rightEye.y + leftEye.y) / 2 };
  const eyesToMouthPx = Math.hypot(mouth.x - eyeMiddle.x, mouth.y - eyeMiddle.y);
  if (eyesToMouthPx < 2) return null;
  const down = { x: (mouth.x - eyeMiddle.x) / eyesToMouthPx, y: (mouth.y - eyeMiddle.y) / eyesToMouthPx };
  const across = { x: down.y, y: -down.x };
  const acrossOf = (p: Point) => (p.x - eyeMiddle.x) * across.x + (p.y - eyeMiddle.y) * across.y;
  const ears = [acrossOf(rightEar), acrossOf(leftEar)] as const;
  const earHalf = Math.abs(ears[0] - ears[1]) / 2;
  const halfWidthPx = Math.min(
    OVAL.halfWidth * eyesToMouthPx,
    Math.max(OVAL.leastHalfWidth * eyesToMouthPx, earHalf * 1.02),
  );
  // A turned face lies between its ears, not around its nose.
  const shift = Math.max(-0.5 * halfWidthPx, Math.min(0.5 * halfWidthPx, (ears[0] + ears[1]) / 2));
  const centreDown = OVAL.belowEyes * eyesToMouthPx;
  return {
    centre: {
      x: eyeMiddle.x + down.x * centreDown + across.x * shift,
      y: eyeMiddle.y + down.y * centreDown + across.y * shift,
    },
    down,
    across,
    halfWidthPx,
    halfHeightPx: OVAL.halfHeight * eyesToMouthPx,
    eyesToMouthPx,
    middleAcrossPx: acrossOf(nose) / 3 - shift,
    eyes: [rightEye, leftEye],
    mouth,
  };
}

/** The skin of a person's face; null when there is no usable face. */
export function faceRegionOf(
  image: WorkingImage,
  found: FoundPerson,
  owners: Int16Array,
  person: number,
): FaceRegion | null {
  const frame = found.face && faceFrameOf(found.face.keypoints);
  if (!frame) return null;
  const { widthPx, heightPx } = image;
  const unit = frame.eyesToMouthPx;
  const reach = Math.ceil(Math.hypot(frame.halfWidthPx, frame.halfHeightPx));
  const oval = new PixelList();
  const skinList = new PixelList();
  const sides: number[] = [];
  const core: boolean[] = [];
  const within = (p: Point, centre: Point, halfWidth: number, halfHeight: number) => {
    const dx = p.x - centre.x;
    const dy = p.y - centre.y;
    return (
      ((dx * frame.across.x + dy * frame.across.y) / halfWidth) ** 2 +
      ((dx * frame.down.x + dy * frame.down.y) / halfHeight) ** 2
    );
  };
  const eyeCentres = frame.eyes.map((eye) => ({
    x: eye.x - frame.down.x * EYE.browsAbove * unit,
    y: eye.y - frame.down.y * EYE.browsAbove * unit,
  }));
  for (
    let y = Math.max(0, Math.floor(frame.centre.y - reach));
    y <= Math.min(heightPx - 1, frame.centre.y + reach);
    y++
  ) {
    for (
      let x = Math.max(0, Math.floor(frame.centre.x - reach));
      x <= Math.min(widthPx - 1, frame.centre.x + reach);
      x++
    ) {
      const i = y * widthPx + x;
      if (owners[i] !== person) continue;
      const p = { x: x + 0.5, y: y + 0.5 };
      const r = within(p, frame.centre, frame.halfWidthPx, frame.halfHeightPx);
      if (r > 1) continue;
      oval.push(i);
      if (eyeCentres.some((eye) => within(p, eye, EYE.halfWidth * unit, (EYE.halfHeight + EYE.browsAbove) * unit) < 1))
        continue;
      if (within(p, frame.mouth, MOUTH.halfWidth * unit, MOUTH.halfHeight * unit) < 1) continue;
      skinList.push(i);
      core.push(r < 0.6);
      sides.push(
        (p.x - frame.centre.x) * frame.across.x + (p.y - frame.centre.y) * frame.across.y - frame.middleAcrossPx,
      );
    }
  }
  const candidates = skinList.pixels();
  const { skinAt, chroma } = skinOfFace(image, candidates, core, Math.max(1, Math.round(0.04 * unit)));
  const keep = (wanted: (k: number) => boolean) => pixelsWhere(candidates, (k) => skinAt[k] === 1 && wanted(k));
  // `across` points to image right for an upright face, to image left for one upside down.
  const rightIsPositive = frame.across.x >= 0;
  return {
    frame,
    oval: oval.pixels(),
    skin: keep(() => true),
    chroma,
    left: keep((k) => (rightIsPositive ? sides[k]! < 0 : sides[k]! >= 0)),
    right: keep((k) => (rightIsPositive ? sides[k]! >= 0 : sides[k]! < 0)),
  };
}

/** Which candidates have the chromaticity of the face's middle. Clipped pixels have none and count as skin. */
function skinOfFace(
  image: WorkingImage,
  candidates: Pixels,
  core: readonly boolean[],
  smoothPx: number,
): { skinAt: Uint8Array; chroma: LogChroma | null } {
  const colour = smoothedColour(image, candidates, smoothPx);
  const usable = (k: number) => image.clippedShare[candidates[k]!] === 0;
  const where = (values: Float32Array, wanted: (k: number) => boolean) =>
    values.filter((_, k) => usable(k) && wanted(k));
  const rg = medianOf(where(colour.rg, (k) => core[k]!));
  const bg = medianOf(where(colour.bg, (k) => core[k]!));
  if (rg === null || bg === null) return { skinAt: new Uint8Array(candidates.length).fill(1), chroma: null };
  const spread = (values: Float32Array, middle: number) =>
    MAD_TO_SIGMA * (medianOf(where(values, (k) => core[k]!).map((v) => Math.abs(v - middle))) ?? 0);
  const reachRg = Math.max(CHROMA_REACH, CHROMA_REACH_SIGMAS * spread(colour.rg, rg));
  const reachBg = Math.max(CHROMA_REACH, CHROMA_REACH_SIGMAS * spread(colour.bg, bg));
  const isSkin = (k: number) =>
    !usable(k) || (Math.abs(colour.rg[k]! - rg) <= reachRg && Math.abs(colour.bg[k]! - bg) <= reachBg);
  const skinAt = Uint8Array.from({ length: candidates.length }, (_, k) => (isSkin(k) ? 1 : 0));
  return { skinAt, chroma: { rg, bg } };
}
