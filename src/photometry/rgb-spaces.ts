import { WHITE_D50, WHITE_D65, xyzFromXy, type Xy } from './chromaticity.js';
import { invertMatrix, multiplyMatrix, multiplyVector, type Matrix3, type Vector3 } from './matrix3.js';
import { linearToSrgbEncoded, srgbEncodedToLinear } from './srgb.js';

export interface RgbSpace {
  name: string;
  red: Xy;
  green: Xy;
  blue: Xy;
  white: Xy;
  /** Encoded 0..1 -> linear 0..1. */
  toLinear: (encoded: number) => number;
  /** Linear 0..1 -> encoded 0..1. */
  toEncoded: (linear: number) => number;
}

/** IEC 61966-2-1:1999; primaries of ITU-R BT.709. */
export const SRGB: RgbSpace = {
  name: 'sRGB',
  red: { x: 0.64, y: 0.33 },
  green: { x: 0.3, y: 0.6 },
  blue: { x: 0.15, y: 0.06 },
  white: WHITE_D65,
  toLinear: srgbEncodedToLinear,
  toEncoded: linearToSrgbEncoded,
};

/** Adobe RGB (1998) Color Image Encoding, 2005-05: gamma 2.19921875 = 563/256, no linear toe. */
const ADOBE_GAMMA = 563 / 256;
export const ADOBE_RGB_1998: RgbSpace = {
  name: 'Adobe RGB (1998)',
  red: { x: 0.64, y: 0.33 },
  green: { x: 0.21, y: 0.71 },
  blue: { x: 0.15, y: 0.06 },
  white: WHITE_D65,
  toLinear: (encoded) => signedPower(encoded, ADOBE_GAMMA),
  toEncoded: (linear) => signedPower(linear, 1 / ADOBE_GAMMA),
};

/** Display P3: the primaries of SMPTE RP 431-2, white D65, the sRGB curve. */
export const DISPLAY_P3: RgbSpace = {
  name: 'Display P3',
  red: { x: 0.68, y: 0.32 },
  green: { x: 0.265, y: 0.69 },
  blue: { x: 0.15, y: 0.06 },
  white: WHITE_D65,
  toLinear: srgbEncodedToLinear,
  toEncoded: linearToSrgbEncoded,
};

/** ROMM RGB, ISO 22028-2 (from memory): D50, gamma 1.8 with a toe of slope 16 below linear 16^(1.8 / (1 - 1.8)) = 1/512. */
const ROMM_GAMMA = 9 / 5;
const ROMM_TOE_SLOPE = 16;
const ROMM_LINEAR_THRESHOLD = 1 / 512;
export const ROMM_RGB: RgbSpace = {
  name: 'ROMM RGB',
  red: { x: 0.7347, y: 0.2653 },
  green: { x: 0.1596, y: 0.8404 },
  blue: { x: 0.0366, y: 0.0001 },
  white: WHITE_D50,
  toLinear: (encoded) =>
    Math.abs(encoded) < ROMM_TOE_SLOPE * ROMM_LINEAR_THRESHOLD
      ? encoded / ROMM_TOE_SLOPE
      : signedPower(encoded, ROMM_GAMMA),
  toEncoded: (linear) =>
    Math.abs(linear) < ROMM_LINEAR_THRESHOLD ? linear * ROMM_TOE_SLOPE : signedPower(linear, 1 / ROMM_GAMMA),
};

export const RGB_SPACES: readonly RgbSpace[] = [SRGB, ADOBE_RGB_1998, DISPLAY_P3, ROMM_RGB];

/**
 * Linear RGB -> XYZ relative to the space's own white (Y of white = 1), row-major; derived from the primaries
 * and the white point (SMPTE RP 177, from memory). The middle row is the luminance row.
 */
export function rgbToXyzMatrix({
  red,
  green,
  blue,
  white,
}: Pick<RgbSpace, 'red' | 'green' | 'blue' | 'white'>): Matrix3 {
  const [r, g, b, w] = [red, green, blue, white].map((xy): Vector3 => {
    const { x, y, z } = xyzFromXy(xy);
    return [x, y, z];
  }) as [Vector3, Vector3, Vector3, Vector3];
  const columns: Matrix3 = [r[0], g[0], b[0], r[1], g[1], b[1], r[2], g[2], b[2]];
  const [sr, sg, sb] = multiplyVector(invertMatrix(columns), w);
  return [sr * r[0], sg * g[0], sb * b[0], sr * r[1], sg * g[1], sb * b[1], sr * r[2], sg * g[2], sb * b[2]];
}

/** Luminance weights of linear R, G, B (they add up to 1). */
export function luminanceRow(space: RgbSpace): Vector3 {
  const matrix = rgbToXyzMatrix(space);
  return [matrix[3], matrix[4], matrix[5]];
}

/** Bradford cone matrix (Lam 1985; as ICC.1:2010 Annex E uses it). */
const BRADFORD: Matrix3 = [0.8951, 0.2664, -0.1614, -0.7502, 1.7135, 0.0367, 0.0389, -0.0685, 1.0296];

/** XYZ under one white -> the corresponding XYZ under another, linear Bradford adaptation. */
export function bradfordAdaptation(from: Xy, to: Xy): Matrix3 {
  const cones = (white: Xy): Vector3 => {
    const { x, y, z } = xyzFromXy(white);
    return multiplyVector(BRADFORD, [x, y, z]);
  };
  const source = cones(from);
  const target = cones(to);
  const scale: Matrix3 = [target[0] / source[0], 0, 0, 0, target[1] / source[1], 0, 0, 0, target[2] / source[2]];
  return multiplyMatrix(invertMatrix(BRADFORD), multiplyMatrix(scale, BRADFORD));
}

/** Linear RGB -> XYZ relative to D65, adapted by Bradford where the space has another white. */
export function rgbToXyzD65Matrix(space: RgbSpace): Matrix3 {
  const own = rgbToXyzMatrix(space);
  if (space.white.x === WHITE_D65.x && space.white.y === WHITE_D65.y) return own;
  return multiplyMatrix(bradfordAdaptation(space.white, WHITE_D65), own);
}

function signedPower(value: number, exponent: number): number {
  return value < 0 ? -((-value) ** exponent) : value ** exponent;
}
