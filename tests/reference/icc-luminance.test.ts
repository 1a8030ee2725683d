import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { parseIccProfile } from '../../worker/decode/icc-profile.js';
import {
  adobeDecode,
  expectStops,
  patchIndex,
  patchJpeg,
  patchLuminance,
  patchPixels,
  patchPng,
  PATCHES,
  PATCHES_HEIGHT_PX,
  PATCHES_WIDTH_PX,
  srgbDecode,
  TOLERANCE_STOPS,
  type Triple,
} from '../support/colour-patches.js';
import { decodeBytes, luminanceAt } from '../support/decoded.js';
import { curvTag, embedInJpeg, embedInPng, tiffWithProfile } from '../support/icc-writer.js';
import {
  ADOBE_COLUMNS,
  ADOBE_GAMMA,
  greyProfile,
  P3_COLUMNS,
  rgbProfile,
  ROMM_COLUMNS,
  ROMM_PARA,
  SRGB_COLUMNS,
  SRGB_PARA,
} from '../support/profiles.js';

const rommDecode = (v: number): number => (v < 16 / 512 ? v / 16 : v ** 1.8);

/**
 * Luminance rows as published: sRGB and Display P3 (primaries with D65), Adobe RGB (1998) section 4.3.5.3;
 * ProPhoto: ISO 22028-2 primaries to XYZ D50, then linear Bradford D50 -> D65, second row of the product of the
 * two matrices printed in CSS Color 4 section 18 (from memory).
 */
const SPACES: { name: string; yRow: Triple; decode: (v: number) => number; profile: Buffer; files: string[] }[] = [
  {
    name: 'sRGB',
    yRow: [0.2126, 0.7152, 0.0722],
    decode: srgbDecode,
    profile: rgbProfile('test sRGB', SRGB_COLUMNS, SRGB_PARA, true),
    files: [],
  },
  {
    name: 'Adobe RGB (1998)',
    yRow: [0.29734, 0.62736, 0.07529],
    decode: adobeDecode,
    profile: rgbProfile('test Adobe', ADOBE_COLUMNS, ADOBE_GAMMA, false),
    files: ['AdobeCompat-v2.icc', 'AdobeCompat-v4.icc'],
  },
  {
    name: 'Display P3',
    yRow: [0.228975, 0.691739, 0.079287],
    decode: srgbDecode,
    profile: rgbProfile('test P3', P3_COLUMNS, SRGB_PARA, true),
    files: ['DisplayP3-v4.icc', 'DisplayP3Compat-v4.icc'],
  },
  {
    name: 'ProPhoto',
    yRow: [0.26832, 0.71512, 0.01656],
    decode: rommDecode,
    profile: rgbProfile('test ROMM', ROMM_COLUMNS, ROMM_PARA, false),
    files: ['ProPhoto-v4.icc', 'ProPhoto-v2-micro.icc'],
  },
];

const expectedLuminance = (space: (typeof SPACES)[number], patch: Triple): number =>
  patchLuminance(space.yRow, space.decode, patch);

const tiff = (bits: 8 | 16, profile: Buffer): Buffer =>
  tiffWithProfile(patchPixels(bits), PATCHES_WIDTH_PX, PATCHES_HEIGHT_PX, 3, profile);

describe('luminance through an embedded profile', () => {
  for (const space of SPACES) {
    const containers: [string, () => Promise<Buffer>, 255 | 65_535][] = [
      ['8-bit PNG', async () => embedInPng(await patchPng(8), space.profile), 255],
      ['16-bit PNG', async () => embedInPng(await patchPng(16), space.profile), 65_535],
      ['8-bit TIFF', async () => tiff(8, space.profile), 255],
      ['16-bit TIFF', async () => tiff(16, space.profile), 65_535],
    ];
    it.each(containers)(`${space.name} in %s is right to ${TOLERANCE_STOPS} stop`, async (_, make, maxCode) => {
      const frame = await decodeBytes(await make());
      expect(frame.maxCode).toBe(maxCode);
      expect(frame.profile).toMatchObject({ kind: 'matrix', handling: 'profile-curves' });
      PATCHES.forEach((patch, index) =>
        expectStops(luminanceAt(frame, patchIndex(index)), expectedLuminance(space, patch), String(patch)),
      );
    });

    it(`${space.name} in JPEG is right for the codes that the JPEG holds`, async () => {
      const frame = await decodeBytes(embedInJpeg(await patchJpeg(), space.profile));
      expect(frame.profile.handling).toBe('profile-curves');
      PATCHES.forEach((_, index) => {
        const at = patchIndex(index) * 3;
        const held: Triple = [frame.data[at] ?? 0, frame.data[at + 1] ?? 0, frame.data[at + 2] ?? 0];
        expectStops(luminanceAt(frame, patchIndex(index)), expectedLuminance(space, held), String(held));
      });
    });
  }

  it.each([8, 16] as const)('grey gamma 2.2 in a %i-bit TIFF', async (bits) => {
    const profile = greyProfile('test grey', curvTag([2.2 * 256]));
    const codes = [255, 118, 46, 12];
    const pixels = bits === 8 ? Uint8Array.from(codes) : Uint16Array.from(codes, (code) => code * 257);
    const frame = await decodeBytes(tiffWithProfile(pixels, 4, 1, 1, profile));
    expect(frame.channels).toBe(1);
    expect(frame.profile).toMatchObject({ kind: 'grey', handling: 'profile-curves', description: 'test grey' });
    codes.forEach((code, index) => expectStops(luminanceAt(frame, index), (code / 255) ** 2.2, String(code)));
  });

  it('no profile is taken as sRGB, and said so', async () => {
    const frame = await decodeBytes(await patchPng(8));
    expect(frame.profile).toMatchObject({ kind: 'none', handling: 'taken-as-srgb' });
    const [srgb] = SPACES;
    if (srgb === undefined) throw new Error('no space');
    PATCHES.forEach((patch, index) =>
      expectStops(luminanceAt(frame, patchIndex(index)), expectedLuminance(srgb, patch), String(patch)),
    );
  });

  it('18 % grey has the published code: 0.461356 encoded is 0.18 linear (IEC 61966-2-1)', async () => {
    const frame = await decodeBytes(
      tiffWithProfile(Uint16Array.from([Math.round(0.461356129500442 * 65_535)]), 1, 1, 1, null),
    );
    expect(luminanceAt(frame, 0)).toBeCloseTo(0.18, 5);
  });
});

const profileFolder = join(import.meta.dirname, '../../../shared/files/icc');

describe.skipIf(!existsSync(profileFolder))('profiles made by others (skipped where ../shared is absent)', () => {
  for (const space of SPACES) {
    for (const file of space.files) {
      // The micro profile keeps a curve of few samples: it is its maker's approximation that limits it.
      const toleranceStops = file.includes('micro') ? 0.03 : TOLERANCE_STOPS;
      // This one adds a straight toe of slope 1/32 that the colour space itself does not have.
      const darkestCode = file === 'AdobeCompat-v4.icc' ? 15 : 0;
      it(`${file} gives the luminance of ${space.name}`, async () => {
        const frame = await decodeBytes(embedInPng(await patchPng(8), readFileSync(join(profileFolder, file))));
        expect(frame.profile.handling).toBe('profile-curves');
        PATCHES.forEach((patch, index) => {
          if (patch.every((code) => code < darkestCode)) return;
          const expected = expectedLuminance(space, patch);
          expectStops(luminanceAt(frame, patchIndex(index)), expected, String(patch), toleranceStops);
        });
      });
    }
  }

  it('Rec2020-v4.icc has the luminance row of ITU-R BT.2020: 0.2627, 0.6780, 0.0593', () => {
    const profile = parseIccProfile(readFileSync(join(profileFolder, 'Rec2020-v4.icc')));
    if (profile.kind !== 'matrix') throw new Error(profile.kind);
    [0.2627, 0.678, 0.0593].forEach((value, index) => expect(profile.rgbToXyz[3 + index]).toBeCloseTo(value, 3));
  });
});
