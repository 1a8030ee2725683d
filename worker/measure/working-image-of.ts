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

/** Scene-linear RGB -> sRGB codes as the file itself would show them. */
function displayCodes(linearRgb: Float32Array, rgbToXyz: Matrix3, display: ToneCurve): Uint8Array {
  const toSrgb = multiplyMatrix(XYZ_TO_SRGB, rgbToXyz);
  // Curve and encoding in one table over the square root of light, fine enough for 8 bits down to the blacks.
  const steps = 8192;
  const maxLinear = 16;
  const fileTable = new Float32Array(steps + 1);
  const codeTable = new Uint8Array(steps + 1);
  for (let i = 0; i <= steps; i++) {
    const root = i / steps;
    fileTable[i] = display.toFile(root * root * maxLinear);
    codeTable[i] = linearToSrgbCode8Rounded(root * root);
  }
  const toFile = (x: number) => fileTable[Math.round(Math.sqrt(Math.min(1, Math.max(0, x / maxLinear))) * steps)]!;
  const toCode = (y: number) => codeTable[Math.round(Math.sqrt(Math.min(1, Math.max(0, y))) * steps)]!;
  const out = new Uint8Array(linearRgb.length);
  for (let i = 0; i < linearRgb.length; i += 3) {
    const r = toFile(linearRgb[i]!);
    const g = toFile(linearRgb[i + 1]!);
    const b = toFile(linearRgb[i + 2]!);
    out[i] = toCode(toSrgb[0] * r + toSrgb[1] * g + toSrgb[2] * b);
    out[i + 1] = toCode(toSrgb[3] * r + toSrgb[4] * g + toSrgb[5] * b);
    out[i + 2] = toCode(toSrgb[6] * r + toSrgb[7] * g + toSrgb[8] * b);
  }
  return out;
}
