import { CropSource, pointInImage, type SquareRegion } from './crop.js';
import type { Network } from './litert.js';
import type { BoxPx, Point } from './port.js';

/** Something found by a box detector, in pixels of the image. */
export interface Detection {
  boxPx: BoxPx;
  score: number;
  keypoints: Point[];
}

/** Constants of one single-shot box detector, from its published graph configuration (mediapipe, Apache-2.0). */
export interface DetectorShape {
  /** Side of the square input. */
  inputPx: number;
  /** Stride of each output layer. */
  strides: readonly number[];
  anchorsPerLayer: number;
  keypoints: number;
  /** Which keypoint of the mirror image is keypoint 0, 1, ... of the image. */
  mirroredKeypoints: readonly number[];
}

/** Right eye, left eye, nose, mouth, right ear, left ear: pairs change places. */
const FACE_MIRRORED = [1, 0, 2, 3, 5, 4] as const;

export const FACE_FULL_RANGE: DetectorShape = {
  inputPx: 192,
  strides: [4],
  anchorsPerLayer: 1,
  keypoints: 6,
  mirroredKeypoints: FACE_MIRRORED,
};
export const FACE_SHORT_RANGE: DetectorShape = {
  inputPx: 128,
  strides: [8, 16, 16, 16],
  anchorsPerLayer: 2,
  keypoints: 6,
  mirroredKeypoints: FACE_MIRRORED,
};
export const BODY: DetectorShape = {
  inputPx: 224,
  strides: [8, 16, 32, 32, 32],
  anchorsPerLayer: 2,
  keypoints: 4,
  mirroredKeypoints: [0, 1, 2, 3],
};

/** Boxes overlapping more than this (intersection over union) are one thing. */
const SAME_BOX_OVERLAP = 0.3;

export interface Look {
  liftShadows?: boolean;
  /** Left and right of paired keypoints (eyes, ears) change places with the picture and are put back. */
  mirrored?: boolean;
}

export class Detector {
  private readonly anchors: Point[];

  constructor(
    private readonly network: Network,
    private readonly shape: DetectorShape,
  ) {
    this.anchors = anchorCentres(shape);
  }

  /**
   * @param region the square to look in
   * @param minScore 0..1
   * @param look how the network looks: with shadows lifted (at the square root of the codes: the dark half of a
   *   side-lit face is then seen too), or at the mirror image; answers are in the image as it is
   * @returns detections, best first, overlapping ones merged
   */
  async detect(source: CropSource, region: SquareRegion, minScore: number, look: Look = {}): Promise<Detection[]> {
    const { inputPx, keypoints } = this.shape;
    const input = source.crop(region, inputPx, 1 / 127.5, -1);
    if (look.liftShadows)
      for (let i = 0; i < input.length; i++) input[i] = 2 * Math.sqrt(Math.max(0, (input[i]! + 1) / 2)) - 1;
    if (look.mirrored) mirror(input, inputPx);
    const outputs = await this.network.run(input, [1, inputPx, inputPx, 3]);
    const [boxes, logits] = [...outputs.values()].sort((a, b) => b.length - a.length);
    if (!boxes || !logits) return [];
    const stride = 4 + keypoints * 2;
    const order = look.mirrored ? this.shape.mirroredKeypoints : Array.from({ length: keypoints }, (_, k) => k);
    const found: Detection[] = [];
    const leastLogit = Math.log(minScore / (1 - minScore));
    for (let index = 0; index < this.anchors.length; index++) {
      if (logits[index]! < leastLogit) continue;
      const anchor = this.anchors[index]!;
      const at = index * stride;
      const point = (offset: number) => {
        const across = boxes[at + offset]! / inputPx + anchor.x;
        return pointInImage(region, look.mirrored ? 1 - across : across, boxes[at + offset + 1]! / inputPx + anchor.y);
      };
      const centre = point(0);
      const width = (boxes[at + 2]! / inputPx) * region.sidePx;
      const height = (boxes[at + 3]! / inputPx) * region.sidePx;
      found.push({
        boxPx: { x: centre.x - width / 2, y: centre.y - height / 2, width, height },
        score: logistic(logits[index]!),
        keypoints: order.map((k) => point(4 + 2 * k)),
      });
    }
    return mergeOverlapping(found);
  }
}

/** Turns `side` x `side` x 3 values into their mirror image, in place. */
function mirror(values: Float32Array, side: number): void {
  for (let y = 0; y < side; y++) {
    for (let x = 0; x < side >> 1; x++) {
      const left = (y * side + x) * 3;
      const right = (y * side + side - 1 - x) * 3;
      for (let c = 0; c < 3; c++) {
        const kept = values[left + c]!;
        values[left + c] = values[right + c]!;
        values[right + c] = kept;
      }
    }
  }
}

export function logistic(x: number): number {
  return 1 / (1 + Math.exp(-Math.max(-80, Math.min(80, x))));
}

/** Intersection over union of two boxes, 0..1. */
export function overlap(a: BoxPx, b: BoxPx): number {
  const width = Math.max(0, Math.min(a.x + a.width, b.x + b.width) - Math.max(a.x, b.x));
  const height = Math.max(0, Math.min(a.y + a.height, b.y + b.height) - Math.max(a.y, b.y));
  const both = width * height;
  const either = a.width * a.height + b.width * b.height - both;
  return either > 0 ? both / either : 0;
}

export function boxCentre(box: BoxPx): Point {
  return { x: box.x + box.width / 2, y: box.y + box.height / 2 };
}

/** Anchors of fixed size: centres only, as shares of the input. Layers of one stride share one grid. */
function anchorCentres(shape: DetectorShape): Point[] {
  const anchors: Point[] = [];
  for (let layer = 0; layer < shape.strides.length;) {
    const stride = shape.strides[layer]!;
    let repeats = 0;
    for (; shape.strides[layer] === stride; layer++) repeats += shape.anchorsPerLayer;
    const side = Math.ceil(shape.inputPx / stride);
    for (let y = 0; y < side; y++) {
      for (let x = 0; x < side; x++) {
        for (let k = 0; k < repeats; k++) anchors.push({ x: (x + 0.5) / side, y: (y + 0.5) / side });
      }
    }
  }
  return anchors;
}

/** Merges boxes of one thing into their score-weighted mean; the best score stands. */
function mergeOverlapping(detections: Detection[]): Detection[] {
  let rest = [...detections].sort((a, b) => b.score - a.score);
  const merged: Detection[] = [];
  while (rest.length > 0) {
    const best = rest[0]!;
    const same = rest.filter((other) => other === best || overlap(best.boxPx, other.boxPx) > SAME_BOX_OVERLAP);
    rest = rest.filter((other) => !same.includes(other));
    merged.push(meanOf(same, best.score));
  }
  return merged;
}

/** Mean of detections with the same keypoints, weighted by their scores. */
function meanOf(detections: readonly Detection[], score: number): Detection {
  const boxPx = { x: 0, y: 0, width: 0, height: 0 };
  const keypoints = detections[0]!.keypoints.map(() => ({ x: 0, y: 0 }));
  let total = 0;
  for (const one of detections) {
    total += one.score;
    boxPx.x += one.boxPx.x * one.score;
    boxPx.y += one.boxPx.y * one.score;
    boxPx.width += one.boxPx.width * one.score;
    boxPx.height += one.boxPx.height * one.score;
    for (let k = 0; k < keypoints.length; k++) addScaled(keypoints[k]!, one.keypoints[k]!, one.score);
  }
  boxPx.x /= total;
  boxPx.y /= total;
  boxPx.width /= total;
  boxPx.height /= total;
  return { boxPx, score, keypoints: keypoints.map(({ x, y }) => ({ x: x / total, y: y / total })) };
}

function addScaled(sum: Point, point: Point, factor: number): void {
  sum.x += point.x * factor;
  sum.y += point.y * factor;
}
