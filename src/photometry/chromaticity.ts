import { requirePositive } from './checks.js';

export interface Xyz {
  x: number;
  y: number;
  z: number;
}

/** CIE 1931 chromaticity. */
export interface Xy {
  x: number;
  y: number;
}

/** CIE 1960 UCS chromaticity. */
export interface Uv1960 {
  u: number;
  v: number;
}

/** CIE 1976 UCS chromaticity u', v'. */
export interface Uv1976 {
  uPrime: number;
  vPrime: number;
}

/** White points of 2 degree observer, CIE 15 (rounded as the RGB standards print them). */
export const WHITE_D65: Xy = { x: 0.3127, y: 0.329 };
export const WHITE_D50: Xy = { x: 0.3457, y: 0.3585 };

/** x = X / (X + Y + Z), y = Y / (X + Y + Z), CIE 15. Null when the sum is not above 0 (black has no chromaticity). */
export function xyFromXyz({ x, y, z }: Xyz): Xy | null {
  const sum = x + y + z;
  return Number.isFinite(sum) && sum > 0 ? { x: x / sum, y: y / sum } : null;
}

/** XYZ of a chromaticity at luminance Y (1 unless said). @throws quantity-out-of-range unless y is above 0. */
export function xyzFromXy({ x, y }: Xy, luminanceY = 1): Xyz {
  requirePositive('y', y);
  return { x: (x / y) * luminanceY, y: luminanceY, z: ((1 - x - y) / y) * luminanceY };
}

/** CIE 1960 UCS: u = 4x / (-2x + 12y + 3), v = 6y / (-2x + 12y + 3). */
export function uv1960FromXy({ x, y }: Xy): Uv1960 {
  const denominator = -2 * x + 12 * y + 3;
  return { u: (4 * x) / denominator, v: (6 * y) / denominator };
}

/** Inverse of `uv1960FromXy`: x = 3u / (2u - 8v + 4), y = 2v / (2u - 8v + 4). */
export function xyFromUv1960({ u, v }: Uv1960): Xy {
  const denominator = 2 * u - 8 * v + 4;
  return { x: (3 * u) / denominator, y: (2 * v) / denominator };
}

/** CIE 1976 UCS: u' = u, v' = 3/2 v of the 1960 diagram. */
export function uv1976FromXy(xy: Xy): Uv1976 {
  const { u, v } = uv1960FromXy(xy);
  return { uPrime: u, vPrime: (3 / 2) * v };
}
