import { describe, expect, it } from 'vitest';
import { MeasuringOptions } from '../../src/contracts/options.js';
import { decodeFrame } from '../../worker/decode/decode-frame.js';
import type { DecodedFrame } from '../../worker/decode/decoded-frame.js';
import { measureFrame } from '../../worker/measure-frame.js';
import { openFrame } from '../../worker/open-frame.js';
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
  type Triple,
} from '../support/colour-patches.js';
import { decodeBytes, luminanceAt } from '../support/decoded.js';
import { jpegWithExifInserted, writeTiff } from '../support/exif-writer.js';
import { embedInJpeg, embedInPng, pngChunk, tiffWithProfile, withPngChunks } from '../support/icc-writer.js';
import { P3_COLUMNS, rgbProfile, SRGB_PARA } from '../support/profiles.js';
import { tableProfile } from '../support/table-profile.js';

/** Luminance rows as published: Adobe RGB (1998) section 4.3.5.3, IEC 61966-2-1, Display P3 by its primaries with D65. */
const ADOBE_ROW: Triple = [0.29734, 0.62736, 0.07529];
const SRGB_ROW: Triple = [0.2126, 0.7152, 0.0722];
const P3_ROW: Triple = [0.228975, 0.691739, 0.079287];
/** ITU-R BT.2020 table 4: Y = 0.2627 R + 0.6780 G + 0.0593 B. */
const BT2020_ROW: Triple = [0.2627, 0.678, 0.0593];

/** Every patch of a decoded frame against row and curve, by the codes that the file holds. */
function expectPatches(frame: DecodedFrame, row: Triple, decode: (v: number) => number): void {
  const full = frame.maxCode;
  PATCHES.forEach((_, index) => {
    const at = patchIndex(index) * 3;
    const held = [0, 1, 2].map((c) => ((frame.data[at + c] ?? 0) * 255) / full) as unknown as Triple;
    const expected = patchLuminance(row, decode, held);
    // JPEG leaves codes such as 1 in a channel that should be 0; both sides read the same codes.
    if (expected > 0) expectStops(luminanceAt(frame, patchIndex(index)), expected, String(held));
  });
}

/** JPEG patches with the given Exif, read and decoded as the worker does. */
async function withExif(colourSpace: number | null, interoperability: string | null, profile?: Buffer) {
  const tiff = writeTiff({
    exif: colourSpace === null ? [] : [{ tag: 0xa001, type: 'short', value: [colourSpace] }],
    ...(interoperability === null ? {} : { interop: [{ tag: 1, type: 'ascii', value: interoperability }] }),
  });
  const plain = await patchJpeg();
  const bytes = jpegWithExifInserted(profile ? embedInJpeg(plain, profile) : plain, tiff);
  const { sniffed, orientation, exifColourSpace } = await openFrame(bytes);
  return { bytes, frame: await decodeFrame(bytes, sniffed, { maxPixels: 1e8, orientation, exifColourSpace }) };
}

describe('a JPEG without a profile whose Exif states a space (DCF 2.0 option file)', () => {
  it.each([0xffff, 2])('ColorSpace %i with R03 is Adobe RGB (1998), to 0.01 stop, and says so', async (colourSpace) => {
    const { frame } = await withExif(colourSpace, 'R03');
    expect(frame.profile).toMatchObject({ handling: 'stated-space', description: 'Adobe RGB (1998)' });
    expect(frame.profile.because).toMatch(/Exif says Adobe RGB/);
    expectPatches(frame, ADOBE_ROW, adobeDecode);
  });

  it.each([
    [1, 'R98', /Exif says sRGB/],
    [0xffff, null, /other than sRGB without saying which/],
    [0xffff, 'R98', /other than sRGB without saying which/],
    [2, 'THM', /other than sRGB without saying which/],
    [null, 'R03', /holds no colour profile$/],
  ] as const)('ColorSpace %s with %s is read as sRGB and says why', async (colourSpace, index, why) => {
    const { frame } = await withExif(colourSpace, index);
    expect(frame.profile).toMatchObject({ handling: 'taken-as-srgb' });
    expect(frame.profile.because).toMatch(why);
    expectPatches(frame, SRGB_ROW, srgbDecode);
  });

  it('a profile counts more than Exif', async () => {
    const { frame } = await withExif(0xffff, 'R03', rgbProfile('P3', P3_COLUMNS, SRGB_PARA, true));
    expect(frame.profile).toMatchObject({ handling: 'profile-curves', description: 'P3' });
    expectPatches(frame, P3_ROW, srgbDecode);
  });

  it('the whole measurement is told: mean level by Adobe RGB, kept in the source', async () => {
    const options = MeasuringOptions.parse({ findPeople: false, toneResponse: 'none' });
    const [adobe, srgb] = [(await withExif(0xffff, 'R03')).bytes, (await withExif(1, 'R98')).bytes];
    const { measurement } = await measureFrame(adobe, options);
    expect(measurement.source.profile.because).toMatch(/Adobe RGB/);
    expect(measurement.notes.join(' ')).toMatch(/Exif says Adobe RGB/);
    const other = (await measureFrame(srgb, options)).measurement;
    expect(measurement.tone.meanLevelStops).not.toBeCloseTo(other.tone.meanLevelStops ?? 0, 2);
  });
});

const u32 = (...values: number[]): Buffer => {
  const bytes = Buffer.alloc(values.length * 4);
  values.forEach((value, index) => bytes.writeUInt32BE(value, index * 4));
  return bytes;
};
const gAMA = (value: number): Buffer => pngChunk('gAMA', u32(value));
const cHRM = (...values: number[]): Buffer => pngChunk('cHRM', u32(...values));
const sRGB = pngChunk('sRGB', Buffer.from([0]));
const cICP = (...values: number[]): Buffer => pngChunk('cICP', Buffer.from(values));
/** White, red, green, blue in 1/100,000: the primaries of Adobe RGB (1998), and of ITU-R BT.2020. */
const ADOBE_CHRM = [31270, 32900, 64000, 33000, 21000, 71000, 15000, 6000];
const BT2020_CHRM = [31270, 32900, 70800, 29200, 17000, 79700, 13100, 4600];
const P3_PROFILE = rgbProfile('P3', P3_COLUMNS, SRGB_PARA, true);

describe.each([8, 16] as const)('a %i-bit PNG states its colour in chunks (PNG third edition)', (bits) => {
  const decode = async (...chunks: Buffer[]) => decodeBytes(withPngChunks(await patchPng(bits), chunks));

  it('gAMA and cHRM: the curve and primaries they say', async () => {
    // 256/563 is the encoding exponent of Adobe RGB: 0.45470.
    const adobe = await decode(gAMA(45_470), cHRM(...ADOBE_CHRM));
    expect(adobe.profile.handling).toBe('stated-space');
    expectPatches(adobe, ADOBE_ROW, adobeDecode);
    expectPatches(await decode(gAMA(100_000), cHRM(...BT2020_CHRM)), BT2020_ROW, (v) => v);
  });

  it('gAMA alone: sRGB primaries; cHRM alone: the sRGB curve; both said', async () => {
    const gamma = await decode(gAMA(45_455));
    expect(gamma.profile.because).toMatch(/gAMA 0\.45455; no cHRM/);
    expectPatches(gamma, SRGB_ROW, (v) => v ** 2.2);
    const primaries = await decode(cHRM(...BT2020_CHRM));
    expect(primaries.profile.because).toMatch(/no gAMA chunk, so the sRGB curve/);
    expectPatches(primaries, BT2020_ROW, srgbDecode);
  });

  it('sRGB stands above gAMA and cHRM', async () => {
    const frame = await decode(sRGB, gAMA(100_000), cHRM(...BT2020_CHRM));
    expect(frame.profile.because).toMatch(/sRGB chunk/);
    expectPatches(frame, SRGB_ROW, srgbDecode);
  });

  it('iCCP stands above gAMA and cHRM', async () => {
    const chunks = [gAMA(100_000), cHRM(...BT2020_CHRM)];
    const frame = await decodeBytes(withProfileAndChunks(await patchPng(bits), chunks));
    expect(frame.profile).toMatchObject({ handling: 'profile-curves', description: 'P3' });
    expectPatches(frame, P3_ROW, srgbDecode);
  });

  it('cICP stands above all, the profile included', async () => {
    const chunks = [cICP(9, 13, 0, 1), gAMA(100_000)];
    for (const png of [
      withPngChunks(await patchPng(bits), [...chunks, sRGB]),
      withProfileAndChunks(await patchPng(bits), chunks),
    ]) {
      const frame = await decodeBytes(png);
      expect(frame.profile.because).toMatch(/code points: primaries BT\.2020/);
      expectPatches(frame, BT2020_ROW, srgbDecode);
    }
  });

  it.each([
    ['PQ', [9, 16, 0, 1]],
    ['HLG', [9, 18, 0, 1]],
    ['narrow range', [1, 13, 0, 0]],
  ])('cICP %s is refused, not read as if it were sRGB', async (_, values) => {
    await expect(decode(cICP(...values))).rejects.toMatchObject({ code: 'frame-format-unsupported' });
  });

  it.each([
    ['gAMA 0', [gAMA(0)], /cannot be meant/],
    ['gAMA far too large', [gAMA(0xffff_ffff)], /cannot be meant/],
    ['primaries on one line', [cHRM(31270, 32900, 30000, 30000, 30000, 30000, 30000, 30000)], /spans no colour space/],
    ['white of height 0', [cHRM(31270, 0, 64000, 33000, 21000, 71000, 15000, 6000)], /spans no colour space/],
  ] as const)('%s is passed over, and that is said', async (_, chunks, why) => {
    const frame = await decode(...chunks);
    expect(frame.profile.handling).toBe('taken-as-srgb');
    expect(frame.profile.because).toMatch(why);
    expectPatches(frame, SRGB_ROW, srgbDecode);
  });

  it('chunks of a wrong length are as if absent', async () => {
    const frame = await decode(pngChunk('gAMA', Buffer.alloc(3)), pngChunk('cHRM', Buffer.alloc(31)));
    expect(frame.profile.because).toBe('The file holds no colour profile');
  });
});

function withProfileAndChunks(png: Buffer, chunks: readonly Buffer[]): Buffer {
  const tagged = embedInPng(withPngChunks(png, []), P3_PROFILE);
  const afterHeader = 8 + 25;
  return Buffer.concat([tagged.subarray(0, afterHeader), ...chunks, tagged.subarray(afterHeader)]);
}

describe('profiles by table: the fallback is said', () => {
  it('16-bit TIFF and PNG: converted to 8-bit sRGB by the decoder', async () => {
    const profile = tableProfile('by table');
    for (const bytes of [
      tiffWithProfile(patchPixels(16), PATCHES_WIDTH_PX, PATCHES_HEIGHT_PX, 3, profile),
      embedInPng(await patchPng(16), profile),
    ]) {
      const frame = await decodeBytes(bytes);
      expect(frame.maxCode).toBe(255);
      expect(frame.sourceBitDepth).toBe(16);
      expect(frame.profile).toMatchObject({ kind: 'table', handling: 'converted-to-srgb', description: 'by table' });
      expect(frame.profile.because).toMatch(
        /"by table" could not be read as curves .*; codes were converted to 8-bit sRGB/,
      );
      expect(luminanceAt(frame, patchIndex(0))).toBeCloseTo(1, 2);
    }
  });
});
