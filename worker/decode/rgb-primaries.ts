import type { Matrix3 } from './decoded-frame.js';
import { invertMatrix3, multiplyMatrix3, scaleColumns, transformVector3, type Vector3 } from './matrix3.js';

export type Chromaticity = readonly [x: number, y: number];

/** CIE XYZ of a chromaticity at Y = 1. */
export function chromaticityToXyz([x, y]: Chromaticity): Vector3 {
  return [x / y, 1, (1 - x - y) / y];
}

/** D65 as IEC 61966-2-1, ITU-R BT.709 and BT.2020 give it: x 0.3127, y 0.3290. */
export const D65_XYZ: Vector3 = chromaticityToXyz([0.3127, 0.329]);

/** D50 of the ICC profile connection space, ICC.1:2022 clause 7.2.16 (from memory): 0.9642, 1, 0.8249. */
export const PCS_D50_XYZ: Vector3 = [0.9642, 1, 0.8249];

/** Linearised Bradford cone responses, ICC.1:2022 Annex E (from memory). */
const BRADFORD: Matrix3 = [0.8951, 0.2664, -0.1614, -0.7502, 1.7135, 0.0367, 0.0389, -0.0685, 1.0296];

/** XYZ as seen under one white -> the corresponding XYZ under another, by the linear Bradford transform. */
export function bradfordAdaptation(from: Vector3, to: Vector3): Matrix3 {
  const coneFrom = transformVector3(BRADFORD, from);
  const coneTo = transformVector3(BRADFORD, to);
  const back = inverseOrThrow(BRADFORD);
  return multiplyMatrix3(
    scaleColumns(back, [coneTo[0] / coneFrom[0], coneTo[1] / coneFrom[1], coneTo[2] / coneFrom[2]]),
    BRADFORD,
  );
}

/** Linear RGB -> XYZ (white Y = 1) from three primaries and a white, SMPTE RP 177-1993 (from memory). */
export function rgbToXyzFromPrimaries(
  red: Chromaticity,
  green: Chromaticity,
  blue: Chromaticity,
  white: Chromaticity,
): Matrix3 {
  const [r, g, b] = [chromaticityToXyz(red), chromaticityToXyz(green), chromaticityToXyz(blue)];
  const columns: Matrix3 = [r[0], g[0], b[0], r[1], g[1], b[1], r[2], g[2], b[2]];
  return scaleColumns(columns, transformVector3(inverseOrThrow(columns), chromaticityToXyz(white)));
}

const D65: Chromaticity = [0.3127, 0.329];

/** sRGB / BT.709 primaries (IEC 61966-2-1, clause 4): Y row 0.2126, 0.7152, 0.0722. */
export const SRGB_TO_XYZ = rgbToXyzFromPrimaries([0.64, 0.33], [0.3, 0.6], [0.15, 0.06], D65);

/** ITU-R BT.2020, table 3. */
export const BT2020_TO_XYZ = rgbToXyzFromPrimaries([0.708, 0.292], [0.17, 0.797], [0.131, 0.046], D65);

/** Display P3: SMPTE EG 432-1 primaries with D65. */
export const DISPLAY_P3_TO_XYZ = rgbToXyzFromPrimaries([0.68, 0.32], [0.265, 0.69], [0.15, 0.06], D65);

/** sRGB decoding, IEC 61966-2-1: 0..1 in, 0..1 out. */
export function srgbToLinear(encoded: number): number {
  return encoded <= 0.04045 ? encoded / 12.92 : ((encoded + 0.055) / 1.055) ** 2.4;
}

function inverseOrThrow(m: Matrix3): Matrix3 {
  const inverse = invertMatrix3(m);
  if (inverse === null) throw new RangeError('A set of primaries has no inverse');
  return inverse;
}
