import type { FoundPerson, Point } from '../people/port.js';
import type { LogChroma } from './region-chroma.js';
import { faceFrameOf, inEllipse, onFace, type FaceFrame } from './region-face-frame.js';
import { CORE_SHARE, skinOfFace } from './region-face-skin.js';
import { PixelList, pixelsMarked, type Pixels } from './region-pixels.js';
import type { WorkingImage } from './working-image.js';

/** Eye with its brow, and mouth, in units of the distance from eyes to mouth: left out of the skin. */
const EYE = { halfWidth: 0.28, halfHeight: 0.24, raised: 0.1 } as const;
const MOUTH = { halfWidth: 0.42, halfHeight: 0.16 } as const;

export interface FaceRegion {
  frame: FaceFrame;
  /** The oval, inside the person's mask. */
  oval: Pixels;
  /** Skin of the oval: without eyes, brows, mouth, hair, beard and what else is not of the skin's colour. */
  skin: Pixels;
  /** The skin nearer to the oval's middle than three quarters of its half axes. */
  core: Pixels;
  /** Median log chromaticity of the skin; null when all is clipped. */
  chroma: LogChroma | null;
  /** Skin on the image-left and image-right side of the middle line. */
  left: Pixels;
  right: Pixels;
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
  const reach = Math.max(frame.halfWidthPx, frame.halfHeightPx);
  const [rightEye, leftEye] = frame.eyes.map((eye) => ({
    x: eye.x - frame.down.x * EYE.raised * unit,
    y: eye.y - frame.down.y * EYE.raised * unit,
  })) as [Point, Point];
  const [eyeAcross, eyeDown] = [EYE.halfWidth * unit, EYE.halfHeight * unit];
  const oval = new PixelList();
  const candidateList = new PixelList();
  const y1 = Math.min(heightPx - 1, Math.ceil(frame.centre.y + reach));
  const x1 = Math.min(widthPx - 1, Math.ceil(frame.centre.x + reach));
  for (let py = Math.max(0, Math.floor(frame.centre.y - reach)); py <= y1; py++) {
    for (let px = Math.max(0, Math.floor(frame.centre.x - reach)); px <= x1; px++) {
      const i = py * widthPx + px;
      const x = px + 0.5;
      const y = py + 0.5;
      if (owners[i] !== person || !inEllipse(frame, frame.centre, frame.halfWidthPx, frame.halfHeightPx, x, y))
        continue;
      oval.push(i);
      if (inEllipse(frame, frame.mouth, MOUTH.halfWidth * unit, MOUTH.halfHeight * unit, x, y)) continue;
      if (inEllipse(frame, rightEye, eyeAcross, eyeDown, x, y)) continue;
      if (inEllipse(frame, leftEye, eyeAcross, eyeDown, x, y)) continue;
      candidateList.push(i);
    }
  }
  const candidates = candidateList.pixels();
  const { isSkin, chroma } = skinOfFace(image, frame, candidates);
  const skin = pixelsMarked(candidates, isSkin, 1);
  // `across` points to image right for an upright face, to image left for one upside down.
  const rightward = frame.across.x >= 0 ? 1 : -1;
  const isRight = new Uint8Array(skin.length);
  const isCore = new Uint8Array(skin.length);
  for (let k = 0; k < skin.length; k++) {
    const x = skin[k]! % widthPx;
    const { across, down } = onFace(frame, frame.centre, x + 0.5, (skin[k]! - x) / widthPx + 0.5);
    if (rightward * (across - frame.middleAcrossPx) >= 0) isRight[k] = 1;
    if ((across / frame.halfWidthPx) ** 2 + (down / frame.halfHeightPx) ** 2 < CORE_SHARE ** 2) isCore[k] = 1;
  }
  return {
    frame,
    oval: oval.pixels(),
    skin,
    core: pixelsMarked(skin, isCore, 1),
    chroma,
    left: pixelsMarked(skin, isRight, 0),
    right: pixelsMarked(skin, isRight, 1),
  };
}
