import { requirePositive } from './checks.js';
import type { Uv1960, Xy } from './chromaticity.js';
import { ROBERTSON_ISOTHERMS, type Isotherm } from './robertson-isotherms.js';

export interface ColourTemperature {
  kelvin: number;
  mired: number;
  /** Distance from the black-body locus in CIE 1960 uv; positive above it (greenish), negative below (pinkish). */
  duv: number;
}

/** Reciprocal megakelvin: 10^6 / T. @throws quantity-out-of-range unless above 0. @example miredFromKelvin(5000) // 200 */
export function miredFromKelvin(kelvin: number): number {
  return 1e6 / requirePositive('kelvin', kelvin);
}

/** Kelvin of a reciprocal colour temperature: 10^6 / mired. */
export function kelvinFromMired(mired: number): number {
  return 1e6 / requirePositive('mired', mired);
}

/** Change in mired from one colour temperature to another; positive is warmer. @example miredShift(5500, 6500) // -27.97 */
export function miredShift(fromKelvin: number, toKelvin: number): number {
  return miredFromKelvin(toKelvin) - miredFromKelvin(fromKelvin);
}

/**
 * Correlated colour temperature in kelvin by McCamy's cubic (C. S. McCamy 1992, Color Res. Appl. 17:142):
 * n = (x - 0.3320) / (0.1858 - y), T = 449 n^3 + 3525 n^2 + 6823.3 n + 5520.33. Good to a few kelvin from 2856
 * to 6500 K; no Duv. Null where the cubic is not defined or not positive.
 */
export function kelvinFromXyMcCamy1992({ x, y }: Xy): number | null {
  const n = (x - 0.332) / (0.1858 - y);
  const kelvin = 449 * n ** 3 + 3525 * n ** 2 + 6823.3 * n + 5520.33;
  return Number.isFinite(kelvin) && kelvin > 0 ? kelvin : null;
}

/**
 * Correlated colour temperature and Duv from CIE 1960 uv by Robertson's method (A. R. Robertson 1968, J. Opt.
 * Soc. Am. 58:1528; table of Wyszecki & Stiles 1(3.11)): the two isotemperature lines that the point lies
 * between, interpolated in mired. Covers 0 to 600 mired (1667 K upwards).
 *
 * @returns null outside the table, where no colour temperature can be named. With |duv| above 0.05 the number
 *   has little meaning (CIE 15); callers judge that.
 */
export function colourTemperatureFromUv1960({ u, v }: Uv1960): ColourTemperature | null {
  const side = ({ u: u0, v: v0, slope }: Isotherm) => (v - v0 - slope * (u - u0)) / Math.hypot(1, slope);
  for (let index = 1; index < ROBERTSON_ISOTHERMS.length; index += 1) {
    const [before, after] = pairAt(index);
    const distanceBefore = side(before);
    const distanceAfter = side(after);
    if (!(distanceBefore >= 0 && distanceAfter < 0)) continue;
    const share = distanceBefore / (distanceBefore - distanceAfter);
    const foot = pointOn(before, after, share);
    const mired = before.mired + share * (after.mired - before.mired);
    if (mired <= 0) return null;
    const duv = (u - foot.u) * foot.outwardU + (v - foot.v) * foot.outwardV;
    return { kelvin: 1e6 / mired, mired, duv };
  }
  return null;
}

/**
 * CIE 1960 uv of a colour temperature and a distance from the locus; inverse of `colourTemperatureFromUv1960`.
 *
 * @returns null outside 0 to 600 mired.
 */
export function uv1960FromMired(mired: number, duv: number): Uv1960 | null {
  for (let index = 1; index < ROBERTSON_ISOTHERMS.length; index += 1) {
    const [before, after] = pairAt(index);
    if (mired < before.mired || mired > after.mired) continue;
    const foot = pointOn(before, after, (mired - before.mired) / (after.mired - before.mired));
    return { u: foot.u + duv * foot.outwardU, v: foot.v + duv * foot.outwardV };
  }
  return null;
}

function pairAt(index: number): [Isotherm, Isotherm] {
  return [ROBERTSON_ISOTHERMS[index - 1] as Isotherm, ROBERTSON_ISOTHERMS[index] as Isotherm];
}

/** Point of the locus between two isotherms, and the unit direction along which Duv grows there. */
function pointOn(before: Isotherm, after: Isotherm, share: number) {
  const mix = (a: number, b: number) => a + share * (b - a);
  const directionU = mix(1 / Math.hypot(1, before.slope), 1 / Math.hypot(1, after.slope));
  const directionV = mix(before.slope / Math.hypot(1, before.slope), after.slope / Math.hypot(1, after.slope));
  const length = Math.hypot(directionU, directionV);
  return {
    u: mix(before.u, after.u),
    v: mix(before.v, after.v),
    outwardU: -directionU / length,
    outwardV: -directionV / length,
  };
}
