import { CropSource, pointInImage, type SquareRegion } from './crop.js';
import { logistic } from './detector.js';
import type { Network } from './litert.js';
import type { Landmark, Point } from './port.js';

const INPUT_PX = 256;
/** The network gives 39 points of 5 numbers; 33 are body landmarks, 33 and 34 say where to look next. */
const POINTS = 39;
const BODY_POINTS = 33;
/** Points, score, mask; heat maps and places in metres are left where they are. */
const OUTPUTS = ['Identity', 'Identity_1', 'Identity_2'] as const;

export interface LandmarkedBody {
  score: number;
  landmarks: Landmark[];
  region: SquareRegion;
  /** 256 x 256 person mask of the region, as logits. */
  maskLogits: Float32Array;
  /** Middle of the hips and a point on the circle around the whole body: the better region to look in again. */
  alignment: [Point, Point];
}

/** The square that holds a body, given the middle of its hips and a point on the circle around it. */
export function regionFromAlignment(hips: Point, onCircle: Point): SquareRegion {
  const dx = onCircle.x - hips.x;
  const dy = onCircle.y - hips.y;
  const turn = Math.PI / 2 - Math.atan2(-dy, dx);
  return {
    centre: hips,
    sidePx: 2 * Math.hypot(dx, dy) * 1.25,
    turn: turn - 2 * Math.PI * Math.floor((turn + Math.PI) / (2 * Math.PI)),
  };
}

export class Landmarker {
  constructor(private readonly network: Network) {}

  /** Landmarks and mask of the one body in a square region; `score` 0..1 says whether one is there. */
  async landmarks(source: CropSource, region: SquareRegion): Promise<LandmarkedBody> {
    const input = source.crop(region, INPUT_PX, 1 / 255, 0);
    const outputs = await this.network.run(input, [1, INPUT_PX, INPUT_PX, 3], OUTPUTS);
    const [points, score, maskLogits] = OUTPUTS.map((name) => outputs.get(name));
    if (!points || !score || !maskLogits || points.length < POINTS * 5)
      throw new Error('the body landmark network has other outputs than expected');
    const at = (index: number) =>
      pointInImage(region, points[index * 5]! / INPUT_PX, points[index * 5 + 1]! / INPUT_PX);
    return {
      score: score[0]!,
      landmarks: Array.from({ length: BODY_POINTS }, (_, i) => ({
        ...at(i),
        visibility: logistic(points[i * 5 + 3]!),
        presence: logistic(points[i * 5 + 4]!),
      })),
      region,
      maskLogits,
      alignment: [at(33), at(34)],
    };
  }
}
