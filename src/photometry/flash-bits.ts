import { StopledgerError } from '../errors.js';

const RETURN_LIGHT = ['not-sensed', 'reserved', 'not-detected', 'detected'] as const;
const MODE = ['unknown', 'forced-on', 'forced-off', 'auto'] as const;

export interface FlashBits {
  code: number;
  fired: boolean;
  returnLight: (typeof RETURN_LIGHT)[number];
  mode: (typeof MODE)[number];
  unitPresent: boolean;
  redEyeReduction: boolean;
}

/**
 * Takes apart the Exif Flash value (tag 9209H): bit 0 fired, bits 1-2 return light, bits 3-4 mode,
 * bit 5 no flash unit, bit 6 red-eye reduction. Source: Exif 2.2 (JEITA CP-3451), p. 36.
 *
 * @throws quantity-out-of-range unless it is a whole number 0..65535 (the tag is a SHORT).
 * @example decodeFlash(0x19).mode // 'auto', with fired true
 */
export function decodeFlash(code: number): FlashBits {
  if (!Number.isInteger(code) || code < 0 || code > 0xffff)
    throw new StopledgerError('quantity-out-of-range', `Expected 0 to 65535 for the Flash value but received ${code}`);
  return {
    code,
    fired: (code & 0b1) !== 0,
    returnLight: RETURN_LIGHT[(code >> 1) & 0b11] ?? 'reserved',
    mode: MODE[(code >> 3) & 0b11] ?? 'unknown',
    unitPresent: (code & 0b10_0000) === 0,
    redEyeReduction: (code & 0b100_0000) !== 0,
  };
}
