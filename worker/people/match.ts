import { boxCentre, overlap, type Detection } from './detector.js';
import type { LandmarkedBody } from './landmarker.js';
import type { Landmark, Point } from './port.js';

/** Nose, eye middles, ears, mouth corners. */
const HEAD = [0, 2, 5, 7, 8, 9, 10] as const;
/** Shoulders and hips. */
const TRUNK = [11, 12, 23, 24] as const;

export function distance(a: Point, b: Point): number {
  return Math.hypot(a.x - b.x, a.y - b.y);
}

/** Middle of a body's head and the head's extent, in pixels, by its landmarks. */
export function headOf(body: LandmarkedBody): { centre: Point; sizePx: number } {
  const points = HEAD.map((i) => body.landmarks[i]!);
  const xs = points.map((p) => p.x);
  const ys = points.map((p) => p.y);
  const mean = (values: number[]) => values.reduce((sum, v) => sum + v, 0) / values.length;
  return {
    centre: { x: mean(xs), y: mean(ys) },
    sizePx: Math.max(Math.max(...xs) - Math.min(...xs), Math.max(...ys) - Math.min(...ys)),
  };
}

/** Whether two landmark sets lie on one body. */
export function sameBody(a: LandmarkedBody, b: LandmarkedBody): boolean {
  const headA = headOf(a);
  const headB = headOf(b);
  if (distance(headA.centre, headB.centre) < 0.6 * Math.max(headA.sizePx, headB.sizePx)) return true;
  return TRUNK.every((i) => distance(a.landmarks[i]!, b.landmarks[i]!) < 0.12 * a.region.sidePx);
}

/** Whether a body is seen from behind: its left shoulder and left hip stand at image left of the right ones. */
export function facesAway(body: LandmarkedBody): boolean {
  const [leftShoulder, rightShoulder, leftHip, rightHip] = TRUNK.map((i) => body.landmarks[i]);
  if (!leftShoulder || !rightShoulder || !leftHip || !rightHip) return false;
  const trunk = distance(leftShoulder, leftHip);
  return leftShoulder.x - rightShoulder.x < -0.25 * trunk && leftHip.x - rightHip.x < 0;
}

export function faceSizePx(face: Detection): number {
  return Math.max(face.boxPx.width, face.boxPx.height);
}

/** The mean of several detections of one face; the best score stands. */
export function meanDetection(looks: readonly Detection[]): Detection {
  const mean = (value: (look: Detection) => number) => looks.reduce((sum, look) => sum + value(look), 0) / looks.length;
  return {
    boxPx: {
      x: mean((l) => l.boxPx.x),
      y: mean((l) => l.boxPx.y),
      width: mean((l) => l.boxPx.width),
      height: mean((l) => l.boxPx.height),
    },
    score: Math.max(...looks.map((look) => look.score)),
    keypoints: looks[0]!.keypoints.map((_, k) => ({
      x: mean((l) => l.keypoints[k]!.x),
      y: mean((l) => l.keypoints[k]!.y),
    })),
  };
}

/** How far a face is from a body's head, in face sizes. */
export function faceToHead(face: Detection, body: LandmarkedBody): number {
  return distance(headOf(body).centre, boxCentre(face.boxPx)) / faceSizePx(face);
}

/** Adds detections that do not overlap any kept one; better scores first. */
export function withoutDoubles(detections: readonly Detection[], maxOverlap = 0.3): Detection[] {
  const kept: Detection[] = [];
  for (const detection of [...detections].sort((a, b) => b.score - a.score)) {
    if (!kept.some((other) => overlap(other.boxPx, detection.boxPx) > maxOverlap)) kept.push(detection);
  }
  return kept;
}

/** Pairs each face with the nearest free body whose head lies within `reach` face sizes; nearest pairs first. */
export function pairFaces(
  faces: readonly Detection[],
  bodies: readonly LandmarkedBody[],
  reach: number,
): Map<Detection, LandmarkedBody> {
  const candidates = faces
    .flatMap((face) => bodies.map((body) => ({ face, body, far: faceToHead(face, body) })))
    .filter((pair) => pair.far < reach);
  candidates.sort((a, b) => a.far - b.far);
  const pairs = new Map<Detection, LandmarkedBody>();
  const taken = new Set<LandmarkedBody>();
  for (const { face, body } of candidates) {
    if (pairs.has(face) || taken.has(body)) continue;
    pairs.set(face, body);
    taken.add(body);
  }
  return pairs;
}

/** Bounds of the landmarks, for ordering. */
export function extent(points: readonly Landmark[]): number {
  const xs = points.map((p) => p.x);
  const ys = points.map((p) => p.y);
  return (Math.max(...xs) - Math.min(...xs)) * (Math.max(...ys) - Math.min(...ys));
}
