/**
 * A histogram of luminance fine enough that everything about its distribution follows from it: keys are the upper
 * bits of the 32-bit float (8 of exponent, 8 of mantissa), so a bin is at most 1/177 stop wide.
 */
const MANTISSA_BITS = 8;
/** A key is the float's bits shifted right by this. */
export const KEY_SHIFT = 23 - MANTISSA_BITS;
export const LIGHT_KEYS = 1 << (8 + MANTISSA_BITS);

const scratch = new Float32Array(1);
const scratchBits = new Uint32Array(scratch.buffer);

/** Key of a luminance >= 0. */
export function lightKey(luminance: number): number {
  scratch[0] = luminance;
  return (scratchBits[0] as number) >>> KEY_SHIFT;
}

/** The luminance in the middle of a key's bin. */
export function luminanceOfKey(key: number): number {
  if (key === 0) return 0;
  scratchBits[0] = (key << KEY_SHIFT) | (1 << (KEY_SHIFT - 1));
  return scratch[0] as number;
}

/** Level in stops re mid-grey of a key; -Infinity for key 0. */
export function levelStopsOfKey(key: number): number {
  return Math.log2(luminanceOfKey(key) / 0.18);
}
