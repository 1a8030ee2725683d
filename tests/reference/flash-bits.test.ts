import { describe, expect, it } from 'vitest';
import { FlashState } from '../../src/contracts/exposure.js';
import { decodeFlash } from '../../src/photometry/flash-bits.js';

/** Exif 2.2 (JEITA CP-3451) p. 36: the bit table and the values that it lists with their meaning. */
const LISTED = [
  { code: 0x00, fired: false, returnLight: 'not-sensed', mode: 'unknown', unitPresent: true, redEyeReduction: false },
  { code: 0x01, fired: true, returnLight: 'not-sensed', mode: 'unknown', unitPresent: true, redEyeReduction: false },
  { code: 0x05, fired: true, returnLight: 'not-detected', mode: 'unknown', unitPresent: true, redEyeReduction: false },
  { code: 0x07, fired: true, returnLight: 'detected', mode: 'unknown', unitPresent: true, redEyeReduction: false },
  { code: 0x09, fired: true, returnLight: 'not-sensed', mode: 'forced-on', unitPresent: true, redEyeReduction: false },
  {
    code: 0x10,
    fired: false,
    returnLight: 'not-sensed',
    mode: 'forced-off',
    unitPresent: true,
    redEyeReduction: false,
  },
  { code: 0x18, fired: false, returnLight: 'not-sensed', mode: 'auto', unitPresent: true, redEyeReduction: false },
  { code: 0x19, fired: true, returnLight: 'not-sensed', mode: 'auto', unitPresent: true, redEyeReduction: false },
  { code: 0x1f, fired: true, returnLight: 'detected', mode: 'auto', unitPresent: true, redEyeReduction: false },
  { code: 0x20, fired: false, returnLight: 'not-sensed', mode: 'unknown', unitPresent: false, redEyeReduction: false },
  { code: 0x41, fired: true, returnLight: 'not-sensed', mode: 'unknown', unitPresent: true, redEyeReduction: true },
  { code: 0x4d, fired: true, returnLight: 'not-detected', mode: 'forced-on', unitPresent: true, redEyeReduction: true },
  { code: 0x5f, fired: true, returnLight: 'detected', mode: 'auto', unitPresent: true, redEyeReduction: true },
];

describe('Exif Flash bits', () => {
  it.each(LISTED)('$code', (expected) => expect(decodeFlash(expected.code)).toEqual(expected));
  it('gives a valid state for every value of the tag', () => {
    for (let code = 0; code <= 0xff; code += 1) expect(FlashState.safeParse(decodeFlash(code)).success).toBe(true);
  });
  it.each([-1, 1.5, 65536, Number.NaN])('refuses %s', (code) => expect(() => decodeFlash(code)).toThrow(/Flash/));
});
