import type { ToneResponse } from '../../src/contracts/tone.js';
import type { FoundPerson, Landmark, Point } from '../../worker/people/port.js';
import type { WorkingImage } from '../../worker/measure/working-image.js';

/** A flat figure of known light: paper doll, 200 x 400 pixels high, drawn without any model. */
export interface FigureColours {
  skin: readonly [number, number, number];
  hips: readonly [number, number, number];
  shins: readonly [number, number, number];
  torso: readonly [number, number, number];
  wall: readonly [number, number, number];
}

/** Exact light: no camera curve stands between. */
export const PLAIN_RESPONSE: ToneResponse = {
  source: 'none',
  slopeAtMid: 1,
  uncertaintyStops: 0,
  because: 'exact light',
};

export const FIGURE_WIDTH_PX = 240;
export const FIGURE_HEIGHT_PX = 440;

const FACE = { x: 120, y: 50, halfWidth: 20, halfHeight: 28 };
const HIP_Y = 200;
/** Where shorts end and legs begin: the hem. */
const HEM_Y = 290;
const KNEE_Y = 300;
const ANKLE_Y = 395;
const LEGS = [
  { x: 100, halfWidth: 13 },
  { x: 140, halfWidth: 13 },
] as const;

function inFigure(x: number, y: number): 'face' | 'torso' | 'hips' | 'shins' | 'foot' | null {
  if (((x - FACE.x) / FACE.halfWidth) ** 2 + ((y - FACE.y) / FACE.halfHeight) ** 2 < 1) return 'face';
  if (y >= 85 && y < HIP_Y && Math.abs(x - 120) < 34) return 'torso';
  const leg = LEGS.some((l) => Math.abs(x - l.x) < l.halfWidth);
  if (y >= HIP_Y && y < HEM_Y && (leg || (y < 225 && Math.abs(x - 120) < 33))) return 'hips';
  if (y >= HEM_Y && y < ANKLE_Y && leg) return 'shins';
  if (y >= ANKLE_Y && y < 415 && leg) return 'foot';
  return null;
}

/** sRGB primaries, IEC 61966-2-1. */
const RGB_TO_XYZ = [0.4124, 0.3576, 0.1805, 0.2126, 0.7152, 0.0722, 0.0193, 0.1192, 0.9505] as const;

/** Luminance of a linear sRGB colour. */
export function luminanceOf([r, g, b]: readonly [number, number, number]): number {
  return RGB_TO_XYZ[3] * r + RGB_TO_XYZ[4] * g + RGB_TO_XYZ[5] * b;
}

/**
 * The working image and what the finder would say of it.
 * @param light multiplies everything; `shiftPx` moves the figure
 * @param cutPx the frame ends there (from the top); landmarks below it stay, as the finder leaves them
 */
export function paperDoll(
  colours: FigureColours,
  options: { light?: number; shiftPx?: number; cutPx?: number } = {},
): { image: WorkingImage; found: FoundPerson } {
  const widthPx = FIGURE_WIDTH_PX;
  const heightPx = options.cutPx ?? FIGURE_HEIGHT_PX;
  const shift = options.shiftPx ?? 0;
  const pixels = widthPx * heightPx;
  const linearRgb = new Float32Array(pixels * 3);
  const linearY = new Float32Array(pixels);
  const mask = new Float32Array(pixels);
  for (let i = 0; i < pixels; i++) {
    const x = (i % widthPx) + 0.5 - shift;
    const y = Math.floor(i / widthPx) + 0.5;
    const part = inFigure(x, y);
    const colour =
      part === null ? colours.wall : part === 'face' ? colours.skin : part === 'foot' ? colours.torso : colours[part];
    for (let c = 0; c < 3; c++) linearRgb[i * 3 + c] = colour[c]! * (options.light ?? 1);
    linearY[i] = luminanceOf(colour) * (options.light ?? 1);
    mask[i] = part === null ? -20 : 20;
  }
  const at = (x: number, y: number): Point => ({ x: x + shift, y });
  const joint = (x: number, y: number): Landmark => ({ ...at(x, y), visibility: 0.95, presence: 0.95 });
  const landmarks = Array.from({ length: 33 }, () => joint(120, 50));
  const place = (index: number, x: number, y: number) => (landmarks[index] = joint(x, y));
  // Left is the sitter's left: image right.
  place(11, 150, 92);
  place(12, 90, 92);
  place(13, 190, 120);
  place(14, 50, 120);
  for (const i of [15, 17, 19, 21]) place(i, 215, 150);
  for (const i of [16, 18, 20, 22]) place(i, 25, 150);
  place(23, 138, HIP_Y);
  place(24, 102, HIP_Y);
  place(25, 140, KNEE_Y);
  place(26, 100, KNEE_Y);
  place(27, 140, ANKLE_Y);
  place(28, 100, ANKLE_Y);
  place(29, 140, 405);
  place(30, 100, 405);
  place(31, 140, 414);
  place(32, 100, 414);
  return {
    image: {
      widthPx,
      heightPx,
      linearRgb,
      linearY,
      clippedShare: new Float32Array(pixels),
      blackShare: new Float32Array(pixels),
      blockPx: 1,
      rgbToXyz: RGB_TO_XYZ,
      fileScale: { topLinear: [1, 1, 1], codeStepLinear: () => 1 / 65535 },
      rgb8: new Uint8Array(pixels * 3),
    },
    found: {
      face: {
        boxPx: { ...at(100, 25), width: 40, height: 50 },
        score: 0.9,
        keypoints: [at(111, 42), at(129, 42), at(120, 53), at(120, 62), at(102, 46), at(138, 46)],
      },
      body: { score: 0.99, landmarks, mask: { x: 0, y: 0, widthPx, heightPx, logits: mask } },
    },
  };
}
