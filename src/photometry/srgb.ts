import { requireFinite } from './checks.js';

/**
 * sRGB transfer function, IEC 61966-2-1:1999 with the thresholds as amended (0.04045 encoded, 0.0031308 linear).
 */
const ENCODED_THRESHOLD = 0.04045;
const LINEAR_THRESHOLD = 0.0031308;
const TOE_SLOPE = 12.92;
const OFFSET = 0.055;
const EXPONENT = 2.4;

/**
 * sRGB encoded value 0..1 -> linear 0..1. Odd-symmetric below 0, continued above 1.
 *
 * @example srgbEncodedToLinear(0.461356129500442) // 0.18
 */
export function srgbEncodedToLinear(encoded: number): number {
  const magnitude = Math.abs(requireFinite('encoded', encoded));
  const linear =
    magnitude <= ENCODED_THRESHOLD ? magnitude / TOE_SLOPE : ((magnitude + OFFSET) / (1 + OFFSET)) ** EXPONENT;
  return encoded < 0 ? -linear : linear;
}

/** Linear 0..1 -> sRGB encoded value 0..1. Odd-symmetric below 0, continued above 1. */
export function linearToSrgbEncoded(linear: number): number {
  const magnitude = Math.abs(requireFinite('linear', linear));
  const encoded =
    magnitude <= LINEAR_THRESHOLD ? magnitude * TOE_SLOPE : (1 + OFFSET) * magnitude ** (1 / EXPONENT) - OFFSET;
  return linear < 0 ? -encoded : encoded;
}

/** sRGB code 0..255 (fractions allowed) -> linear 0..1. @example srgbCode8ToLinear(188) // 0.5029 */
export function srgbCode8ToLinear(code8: number): number {
  return srgbEncodedToLinear(code8 / 255);
}

/** Linear -> sRGB code 0..255, neither rounded nor clamped. @example linearToSrgbCode8(0.18) // 117.65 */
export function linearToSrgbCode8(linear: number): number {
  return 255 * linearToSrgbEncoded(linear);
}

/** Linear -> the sRGB code that a file would hold: rounded, clamped to 0..255. */
export function linearToSrgbCode8Rounded(linear: number): number {
  return Math.min(255, Math.max(0, Math.round(linearToSrgbCode8(linear))));
}

/** Linear value of every code 0..maxCode (255 or 65535), for look-up. */
export function srgbCodeTable(maxCode: number): Float32Array {
  return Float32Array.from({ length: maxCode + 1 }, (_, code) => srgbEncodedToLinear(code / maxCode));
}
