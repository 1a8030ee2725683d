import type { Point } from '../people/port.js';

/**
 * Proportions of the measured oval in units of the distance from eyes to mouth, from adult anthropometry (from
 * memory: eyes to mouth about 65 mm, chin 105 mm under the eyes, hairline 70 mm over them, face about 135 mm wide).
 */
const OVAL = { belowEyes: 0.5, halfHeight: 1.3, halfWidth: 1.08, leastHalfWidth: 0.6 } as const;
/** A nearer pair of eyes and mouth than this, in pixels, cannot be measured. */
const LEAST_EYES_TO_MOUTH_PX = 2;

/** The oval of a face and the axes it stands on. */
export interface FaceFrame {
  centre: Point;
  /** Unit vector from the eyes to the mouth. */
  down: Point;
  /** Unit vector across the face; points to image right for an upright face. */
  across: Point;
  halfWidthPx: number;
  halfHeightPx: number;
  eyesToMouthPx: number;
  /** Where the middle line (eye middle, nose, mouth) lies, along `across` from `centre`. */
  middleAcrossPx: number;
  eyes: readonly [Point, Point];
  eyeMiddle: Point;
  mouth: Point;
}

/**
 * The oval and axes of a found face.
 * @param keypoints right eye, left eye, nose tip, mouth, right ear, left ear, in pixels
 * @returns null when the face is too small to have any
 */
export function faceFrameOf(keypoints: readonly Point[]): FaceFrame | null {
  const [rightEye, leftEye, nose, mouth, rightEar, leftEar] = keypoints;
  if (!rightEye || !leftEye || !nose || !mouth || !rightEar || !leftEar) return null;
  const eyeMiddle = { x: (rightEye.x + leftEye.x) / 2, y: (rightEye.y + leftEye.y) / 2 };
  const unit = Math.hypot(mouth.x - eyeMiddle.x, mouth.y - eyeMiddle.y);
  if (unit < LEAST_EYES_TO_MOUTH_PX) return null;
  const down = { x: (mouth.x - eyeMiddle.x) / unit, y: (mouth.y - eyeMiddle.y) / unit };
  const across = { x: down.y, y: -down.x };
  const acrossOf = (p: Point) => (p.x - eyeMiddle.x) * across.x + (p.y - eyeMiddle.y) * across.y;
  const ears = [acrossOf(rightEar), acrossOf(leftEar)] as const;
  const betweenEars = Math.abs(ears[0] - ears[1]) / 2;
  const halfWidthPx = Math.min(OVAL.halfWidth * unit, Math.max(OVAL.leastHalfWidth * unit, betweenEars * 1.02));
  // A turned face lies between its ears, not around its nose.
  const shift = Math.max(-0.5 * halfWidthPx, Math.min(0.5 * halfWidthPx, (ears[0] + ears[1]) / 2));
  return {
    centre: {
      x: eyeMiddle.x + down.x * OVAL.belowEyes * unit + across.x * shift,
      y: eyeMiddle.y + down.y * OVAL.belowEyes * unit + across.y * shift,
    },
    down,
    across,
    halfWidthPx,
    halfHeightPx: OVAL.halfHeight * unit,
    eyesToMouthPx: unit,
    middleAcrossPx: acrossOf(nose) / 3 - shift,
    eyes: [rightEye, leftEye],
    eyeMiddle,
    mouth,
  };
}

/** Position of a point on a face from `from`: along `across` and along `down`, in pixels. */
export function onFace(frame: FaceFrame, from: Point, x: number, y: number): { across: number; down: number } {
  const dx = x - from.x;
  const dy = y - from.y;
  return { across: dx * frame.across.x + dy * frame.across.y, down: dx * frame.down.x + dy * frame.down.y };
}

/** Whether a point lies in an ellipse that stands on the face's axes. */
export function inEllipse(
  frame: FaceFrame,
  centre: Point,
  halfAcross: number,
  halfDown: number,
  x: number,
  y: number,
): boolean {
  const { across, down } = onFace(frame, centre, x, y);
  return (across / halfAcross) ** 2 + (down / halfDown) ** 2 < 1;
}
