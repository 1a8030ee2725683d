import { requireFinite } from './checks.js';
import type { Xyz } from './chromaticity.js';

/** CIE constants as their fractions: epsilon = (6/29)^3, kappa = (29/3)^3 (CIE 15:2004; Lindbloom's continuity study). */
const EPSILON = 216 / 24389;
const KAPPA = 24389 / 27;

export interface Lab {
  L: number;
  a: number;
  b: number;
}

/** CIE 1976 lightness of a luminance relative to white = 1. @example lStarFromLinear(0.18) // 49.496 */
export function lStarFromLinear(linearY: number): number {
  return 116 * cubeRootWithToe(linearY) - 16;
}

/** Luminance relative to white = 1 of a CIE 1976 lightness. */
export function linearFromLStar(lStar: number): number {
  return requireFinite('lStar', lStar) > KAPPA * EPSILON ? ((lStar + 16) / 116) ** 3 : lStar / KAPPA;
}

/** CIE 1976 L*, a*, b* of XYZ relative to a white in the same units. */
export function labFromXyz(xyz: Xyz, white: Xyz): Lab {
  const fx = cubeRootWithToe(xyz.x / white.x);
  const fy = cubeRootWithToe(xyz.y / white.y);
  const fz = cubeRootWithToe(xyz.z / white.z);
  return { L: 116 * fy - 16, a: 500 * (fx - fy), b: 200 * (fy - fz) };
}

function cubeRootWithToe(ratio: number): number {
  return requireFinite('ratio', ratio) > EPSILON ? Math.cbrt(ratio) : (KAPPA * ratio + 16) / 116;
}
