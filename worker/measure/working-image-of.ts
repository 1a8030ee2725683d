import { invertMatrix, multiplyMatrix, type Matrix3 } from '../../src/photometry/matrix3.js';
import { SRGB, rgbToXyzMatrix } from '../../src/photometry/rgb-spaces.js';
import { linearToSrgbCode8Rounded } from '../../src/photometry/srgb.js';
import { STRAIGHT, type ToneCurve } from '../../src/photometry/tone-response.js';
import type { DecodedFrame } from '../decode/decoded-frame.js';
import { fileScaleOf } from './file-scale.js';
import { orientPlane } from './orient.js';
import type { Reduction } from './reduce.js';
import type { WorkingImage } from './working-image.js';

/**
 * The upright working image. `display` is the curve that makes a picture of scene light again: the file's own
 * response for rendered files, an assumed one for raw.
 */
export function workingImageOf(reduction: Reduction, frame: DecodedFrame, display: ToneCurve): WorkingImage {
  const size = { widthPx: reduction.blocksWide, heightPx: reduction.blocksHigh };
  const rgb = orientPlane({ data: reduction.blockRgb, ...size, channels: 3 }, frame.orientation);
  const top = orientPlane({ data: reduction.blockTopShare, ...size, channels: 1 }, frame.orientation);
  const bottom = orientPlane({ data: reduction.blockBottomShare, ...size, channels: 1 }, frame.orientation);
  const [, , , wr, wg, wb] = frame.rgbToXyz;
  const cells = rgb.widthPx * rgb.heightPx;
  const linearY = new Float32Array(cells);
  for (let i = 0; i < cells; i++) {
    linearY[i] = Math.max(0, wr * rgb.data[i * 3]! + wg * rgb.data[i * 3 + 1]! + wb * rgb.data[i * 3 + 2]!);
  }
  return {
    widthPx: rgb.widthPx,
    heightPx: rgb.heightPx,
    linearRgb: rgb.data,
    linearY,
    clippedShare: top.data,
    blackShare: bottom.data,
    blockPx: reduction.blockPx,
    rgbToXyz: frame.rgbToXyz,
    fileScale: fileScaleOf(frame, frame.encoding === 'scene' ? STRAIGHT : display),
    rgb8: displayCodes(rgb.data, frame.rgbToXyz, display),
  };
}

const XYZ_TO_SRGB = invertMatrix(rgbToXyzMatrix(SRGB));

/** Curve and encoding are tables over the square root of light, fine enough for 8 bits down to the blacks. */
const STEPS = 8192;
const MAX_LINEAR = 16;

const CODE_TABLE = Uint8Array.from({ length: STEPS + 1 }, (_, i) => linearToSrgbCode8Rounded((i / STEPS) ** 2));

// One shoot's frames are measured one after another, mostly through one curve.
let lastFileTable: { curve: ToneCurve; table: Float32Array } | null = null;
function fileTableOf(curve: ToneCurve): Float32Array {
  if (lastFileTable?.curve !== curve) {
    const table = Float32Array.from({ length: STEPS + 1 }, (_, i) => curve.toFile((i / STEPS) ** 2 * MAX_LINEAR));
    lastFileTable = { curve, table };
  }
  return lastFileTable.table;
}

/** Scene-linear RGB -> sRGB codes as the file itself would show them. */
function displayCodes(linearRgb: Float32Array, rgbToXyz: Matrix3, display: ToneCurve): Uint8Array {
  const [rr, rg, rb, gr, gg, gb, br, bg, bb] = multiplyMatrix(XYZ_TO_SRGB, rgbToXyz);
  const fileTable = fileTableOf(display);
  const codeTable = CODE_TABLE;
  const out = new Uint8Array(linearRgb.length);
  for (let i = 0; i < linearRgb.length; i += 3) {
    const r = fileTable[stepOf(linearRgb[i]! / MAX_LINEAR)]!;
    const g = fileTable[stepOf(linearRgb[i + 1]! / MAX_LINEAR)]!;
    const b = fileTable[stepOf(linearRgb[i + 2]! / MAX_LINEAR)]!;
    out[i] = codeTable[stepOf(rr * r + rg * g + rb * b)]!;
    out[i + 1] = codeTable[stepOf(gr * r + gg * g + gb * b)]!;
    out[i + 2] = codeTable[stepOf(br * r + bg * g + bb * b)]!;
  }
  return out;
}

/** Place of a value 0..1 (what is outside is clamped) in a table over its square root. */
function stepOf(value: number): number {
  return value >= 1 ? STEPS : value > 0 ? (Math.sqrt(value) * STEPS + 0.5) | 0 : 0;
}
