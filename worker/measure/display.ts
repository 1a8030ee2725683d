import { invertMatrix, multiplyMatrix, type Matrix3 } from '../../src/photometry/matrix3.js';
import { SRGB, rgbToXyzMatrix } from '../../src/photometry/rgb-spaces.js';
import { linearToSrgbCode8Rounded } from '../../src/photometry/srgb.js';
import type { ToneCurve } from '../../src/photometry/tone-response.js';
import { cellsKernel } from '../cells-kernel.js';
import { FrameBuffers } from './frame-buffers.js';
import type { WorkingImage } from './working-image.js';

const XYZ_TO_SRGB = invertMatrix(rgbToXyzMatrix(SRGB));

/** Curve and encoding are tables over the square root of light, fine enough for 8 bits down to the blacks. */
const STEPS = 8192;
const MAX_LINEAR = 16;
/** Cells handed to the kernel at a time: few enough to stay in the cache. */
const PIECE = 4096;

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

/**
 * Scene-linear RGB -> luminance (light is never less than none), and sRGB codes as the file itself would show them.
 *
 * @param linearRgb height x width x 3, the file's primaries; light above 16 is shown as 16
 * @param rgbToXyz of the file, row-major
 * @param display scene-linear -> file-linear
 * @param buffers where the planes are to lie
 */
export function displayed(
  linearRgb: Float32Array,
  rgbToXyz: Matrix3,
  display: ToneCurve,
  buffers = new FrameBuffers(),
): Pick<WorkingImage, 'linearY' | 'rgb8'> {
  const [, , , wr, wg, wb] = rgbToXyz;
  const [rr, rg, rb, gr, gg, gb, br, bg, bb] = multiplyMatrix(XYZ_TO_SRGB, rgbToXyz);
  const settings = [wr, wg, wb, 0, rr, gr, br, 0, rg, gg, bg, 0, rb, gb, bb, 0, 1 / MAX_LINEAR];
  const { kernel, at, buffer } = cellsKernel({
    settings: 4 * settings.length,
    fileTable: 4 * (STEPS + 1),
    codeTable: STEPS + 1,
    rgb: 12 * PIECE + 4,
    luminances: 4 * PIECE,
    codes: 3 * PIECE,
  });
  new Float32Array(buffer, at.settings).set(settings);
  new Float32Array(buffer, at.fileTable).set(fileTableOf(display));
  new Uint8Array(buffer, at.codeTable).set(CODE_TABLE);
  const pieceRgb = new Float32Array(buffer, at.rgb, 3 * PIECE);
  const pieceY = new Float32Array(buffer, at.luminances, PIECE);
  const pieceCodes = new Uint8Array(buffer, at.codes, 3 * PIECE);
  const cells = linearRgb.length / 3;
  const linearY = buffers.floats('luminance', cells);
  const rgb8 = buffers.bytes('codes', linearRgb.length);
  for (let from = 0; from < cells; from += PIECE) {
    const count = Math.min(PIECE, cells - from);
    pieceRgb.set(linearRgb.subarray(3 * from, 3 * (from + count)));
    kernel.displayCells(at.rgb, count, at.settings, STEPS, at.fileTable, at.codeTable, at.luminances, at.codes);
    linearY.set(pieceY.subarray(0, count), from);
    rgb8.set(pieceCodes.subarray(0, 3 * count), 3 * from);
  }
  return { linearY, rgb8 };
}
