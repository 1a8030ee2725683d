import { StopledgerError } from '../../src/errors.js';
import { srgbEncodedToLinear } from '../../src/photometry/srgb.js';
import type { CodedColour } from './box-file.js';
import { tabulate, type CodeScale, type ColourHandling } from './colour-handling.js';
import type { Matrix3 } from './decoded-frame.js';
import { BT2020_TO_XYZ, DISPLAY_P3_TO_XYZ, SRGB_TO_XYZ } from './rgb-primaries.js';

/** ColourPrimaries of ITU-T H.273, table 2 (from memory): 1 BT.709, 2 unspecified, 9 BT.2020, 12 Display P3. */
const PRIMARIES: ReadonlyMap<number, { name: string; toXyz: Matrix3 }> = new Map([
  [1, { name: 'BT.709', toXyz: SRGB_TO_XYZ }],
  [2, { name: 'unspecified (taken as BT.709)', toXyz: SRGB_TO_XYZ }],
  [9, { name: 'BT.2020', toXyz: BT2020_TO_XYZ }],
  [12, { name: 'Display P3', toXyz: DISPLAY_P3_TO_XYZ }],
]);

/**
 * TransferCharacteristics of ITU-T H.273, table 3 (from memory). Still cameras and encoders write 1, 2, 6, 14 and 15
 * for pictures meant for an sRGB display, so these are read by the sRGB curve like 13; 8 is linear.
 */
const READ_AS_SRGB = new Set([1, 2, 6, 13, 14, 15]);
const LINEAR = 8;

/**
 * Colour by the code points (nclx) of an AVIF or HEIF file without a profile. Throws `frame-format-unsupported`
 * for code points that cannot be told (PQ and HLG among them: absolute or scene-referred high dynamic range).
 */
export function codedColourHandling(coded: CodedColour, channels: 1 | 3, scale: CodeScale): ColourHandling {
  const primaries = PRIMARIES.get(coded.primaries);
  const isLinear = coded.transfer === LINEAR;
  if (primaries === undefined || (!isLinear && !READ_AS_SRGB.has(coded.transfer)))
    throw new StopledgerError(
      'frame-format-unsupported',
      `The file's colour is coded with primaries ${coded.primaries} and transfer ${coded.transfer} of H.273; ` +
        'expected primaries 1, 9 or 12 and an sRGB-like or linear transfer',
    );
  const table = tabulate(isLinear ? (code) => code : srgbEncodedToLinear, scale);
  const because = `The file holds no profile but colour code points: primaries ${primaries.name}, transfer ${coded.transfer} of H.273`;
  return {
    codeToLinear: channels === 1 ? [table] : [table, table, table],
    rgbToXyz: channels === 1 ? SRGB_TO_XYZ : primaries.toXyz,
    profile: {
      description: null,
      kind: 'none',
      handling: isLinear ? 'linear' : primaries.toXyz === SRGB_TO_XYZ ? 'taken-as-srgb' : 'stated-space',
      because,
    },
  };
}
