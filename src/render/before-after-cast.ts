import { uv1960FromMired } from '../photometry/colour-temperature.js';
import { invertMatrix } from '../photometry/matrix3.js';
import { SRGB, rgbToXyzMatrix } from '../photometry/rgb-spaces.js';

/** D65, 6504 K, in mired, and its distance from the black-body locus (CIE 15; from memory). */
export const D65 = { mired: 1e6 / 6504, duv: 0.0032 } as const;
const XYZ_TO_SRGB = invertMatrix(rgbToXyzMatrix(SRGB));

type Triple = readonly [number, number, number];

/** Linear sRGB of a white of luminance 1. */
function whiteRgb(mired: number, duv: number): Triple {
  const uv = uv1960FromMired(Math.min(600, Math.max(1, mired)), duv);
  if (uv === null) return [1, 1, 1];
  // CIE 1960: x = 3u / (2u - 8v + 4), y = 2v / (2u - 8v + 4).
  const scale = 2 * uv.u - 8 * uv.v + 4;
  const x = (3 * uv.u) / scale;
  const y = (2 * uv.v) / scale;
  const xyz = [x / y, 1, (1 - x - y) / y] as const;
  const row = (i: number): number =>
    (XYZ_TO_SRGB[i] ?? 0) * xyz[0] + (XYZ_TO_SRGB[i + 1] ?? 0) * xyz[1] + (XYZ_TO_SRGB[i + 2] ?? 0) * xyz[2];
  return [row(0), row(3), row(6)];
}

/**
 * What to multiply linear sRGB by, so that a grey becomes `mired` warmer and `duv` greener at unchanged luminance. One
 * factor a channel (von Kries in the picture's own primaries): right for greys, close for the rest.
 *
 * @param grey how the picture shows a grey now, CIE 1960
 */
export function castGains(mired: number, duv: number, grey: { mired: number; duv: number } = D65): Triple {
  const from = whiteRgb(grey.mired, grey.duv);
  const to = whiteRgb(grey.mired + mired, grey.duv + duv);
  return [to[0] / from[0], to[1] / from[1], to[2] / from[2]];
}
