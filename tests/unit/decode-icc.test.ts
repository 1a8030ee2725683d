import { describe, expect, it } from 'vitest';
import { parseToneCurve } from '../../worker/decode/icc-curve.js';
import { parseIccProfile } from '../../worker/decode/icc-profile.js';
import { sharp } from '../../worker/decode/sharp-setup.js';
import { assertWellFormed, decodeBytes, luminanceAt } from '../support/decoded.js';
import {
  curvTag,
  descriptionTag,
  embedInJpeg,
  embedInPng,
  matrixTag,
  paraTag,
  tiffWithProfile,
  writeProfile,
  xyzTag,
} from '../support/icc-writer.js';
import { mutate } from '../support/mutate.js';
import { greyProfile, P3_COLUMNS, rgbProfile, SRGB_COLUMNS, SRGB_PARA } from '../support/profiles.js';
import { SEEDS } from '../support/seed-images.js';
import { tableProfile } from '../support/table-profile.js';

const valid = rgbProfile('valid', P3_COLUMNS, SRGB_PARA, true);
const withCurve = (curve: Buffer): Buffer => rgbProfile('odd', SRGB_COLUMNS, curve, true);
const PIXELS = Uint8Array.from([255, 255, 255, 128, 128, 128, 0, 0, 0, 200, 80, 40]);
const tiff = (profile: Buffer): Buffer => tiffWithProfile(PIXELS, 4, 1, 3, profile);

describe('tone curves', () => {
  /** Function types 0 to 4 written out by hand, ICC.1:2022 table 68 (from memory); x, expected. */
  it.each<[string, Buffer, number, number]>([
    ['no entries: identity', curvTag([]), 0.3, 0.3],
    ['one entry: gamma 1.8', curvTag([1.8 * 256]), 0.5, 0.5 ** (Math.round(1.8 * 256) / 256)],
    ['three entries: linear between', curvTag([0, 16_384, 65_535]), 0.25, 8192 / 65_535],
    ['three entries: its middle', curvTag([0, 16_384, 65_535]), 0.5, 16_384 / 65_535],
    ['type 0: x^g', paraTag(0, [2]), 0.5, 0.25],
    ['type 1 above -b/a', paraTag(1, [2, 0.5, 0.5]), 0.5, 0.5625],
    ['type 1 below -b/a', paraTag(1, [2, 2, -1]), 0.25, 0],
    ['type 2 adds c', paraTag(2, [2, 0.5, 0.25, 0.25]), 0.5, 0.5],
    ['type 3 below d: c x', SRGB_PARA, 0.03, 0.03 / 12.92],
    ['type 3 above d', SRGB_PARA, 0.461356129500442, 0.18],
    ['type 4 above d: + e', paraTag(4, [2, 0.5, 0.25, 0.5, 0.25, 0.125, 0.0625]), 0.5, 0.375],
    ['type 4 below d: c x + f', paraTag(4, [2, 0.5, 0.25, 0.5, 0.25, 0.125, 0.0625]), 0.125, 0.125],
  ])('%s', (_, element, device, expected) => {
    expect(parseToneCurve(element)?.(device)).toBeCloseTo(expected, 4);
  });

  it.each<[string, Buffer]>([
    ['nothing', Buffer.alloc(0)],
    ['a foreign type', Buffer.from('text\0\0\0\0hello world')],
    [
      'an entry count of 4 billion',
      Buffer.concat([Buffer.from('curv\0\0\0\0\xff\xff\xff\xff', 'latin1'), Buffer.alloc(64)]),
    ],
    ['fewer entries than it counts', curvTag([0, 1, 2, 3]).subarray(0, 16)],
    ['a gamma of 0', curvTag([0])],
    ['a falling curve', curvTag([65_535, 0])],
    ['a curve that is all zero', curvTag([0, 0, 0])],
    ['a curve that is all one', curvTag([65_535, 65_535])],
    ['an unknown function type', paraTag(9, [1, 1, 1, 1, 1, 1, 1])],
    ['a negative exponent', paraTag(0, [-2.2])],
    ['parameters cut off', paraTag(3, [2.4, 1, 0])],
    ['a fall at the joint', paraTag(3, [2.4, 0.1, 0, 1, 0.9])],
  ])('%s is no curve', (_, element) => {
    expect(parseToneCurve(element)).toBeNull();
  });
});

describe('profiles', () => {
  it('undoes a chad that is not Bradford: the luminance row is that of the native primaries', () => {
    // Native sRGB primaries and D65 (IEC 61966-2-1, four digits), taken to D50 by plain scaling of X, Y and Z.
    const scale = [0.9642 / 0.9505, 1, 0.8249 / 1.089] as const;
    const native = [
      [0.4124, 0.2126, 0.0193],
      [0.3576, 0.7152, 0.1192],
      [0.1805, 0.0722, 0.9505],
    ];
    const columns = native.map((column) => column.map((value, index) => value * (scale[index] ?? 1)));
    const base = rgbProfile('scaled', columns, SRGB_PARA, false);
    const tags = new Map([
      ['desc', descriptionTag('scaled')],
      ...['rXYZ', 'gXYZ', 'bXYZ'].map((name, index) => [name, xyzTag(columns[index] ?? [])] as const),
      ...['rTRC', 'gTRC', 'bTRC'].map((name) => [name, SRGB_PARA] as const),
      ['chad', matrixTag([scale[0], 0, 0, 0, scale[1], 0, 0, 0, scale[2]])],
    ]);
    const withChad = parseIccProfile(writeProfile({ deviceSpace: 'RGB ', tags }));
    const without = parseIccProfile(base);
    if (withChad.kind !== 'matrix' || without.kind !== 'matrix') throw new Error('expected matrix profiles');
    [0.4124, 0.3576, 0.1805, 0.2126, 0.7152, 0.0722, 0.0193, 0.1192, 0.9505].forEach((value, index) =>
      expect(withChad.rgbToXyz[index]).toBeCloseTo(value, 3),
    );
    expect(Math.abs((without.rgbToXyz[5] ?? 0) - 0.0722)).toBeGreaterThan(0.001);
  });

  it('names itself, from both kinds of description', () => {
    expect(parseIccProfile(valid)).toMatchObject({ kind: 'matrix', description: 'valid' });
    const old = Buffer.concat([Buffer.from('desc\0\0\0\0\0\0\0\x06Maker\0', 'latin1'), Buffer.alloc(80)]);
    const tags = new Map([
      ['desc', old],
      ['kTRC', curvTag([])],
    ]);
    expect(parseIccProfile(writeProfile({ deviceSpace: 'GRAY', tags }))).toMatchObject({
      kind: 'grey',
      description: 'Maker',
    });
  });

  it('a grey profile over Lab: half of L* is 18.4187 % (CIE 1976 L*)', async () => {
    const tags = new Map([['kTRC', curvTag([])]]);
    const profile = writeProfile({ deviceSpace: 'GRAY', connectionSpace: 'Lab ', tags });
    const pixels = Uint16Array.from([32_768]);
    const frame = await decodeBytes(tiffWithProfile(pixels, 1, 1, 1, profile));
    expect(luminanceAt(frame, 0)).toBeCloseTo(0.184187, 4);
  });

  const hostile: [string, Buffer][] = [
    ['empty', Buffer.alloc(0)],
    ['a header only', valid.subarray(0, 128)],
    ['no signature', Buffer.alloc(400)],
    ['4 billion tags', patched(valid, 128, 0xffff_ffff)],
    ['101 tags', patched(valid, 128, 101)],
    ['a tag far outside', patched(valid, 132 + 12 * 2 + 4, 0xffff_fff0)],
    ['a falling curve', withCurve(curvTag([65_535, 0]))],
    [
      'primaries all zero',
      rgbProfile(
        'zero',
        [
          [0, 0, 0],
          [0, 0, 0],
          [0, 0, 0],
        ],
        SRGB_PARA,
        false,
      ),
    ],
    [
      'primaries all alike',
      rgbProfile(
        'alike',
        [
          [0.3, 0.3, 0.3],
          [0.3, 0.3, 0.3],
          [0.3, 0.3, 0.3],
        ],
        SRGB_PARA,
        false,
      ),
    ],
    [
      'negative primaries',
      rgbProfile(
        'neg',
        [
          [-1, -1, -1],
          [0.1, 0.2, 0.3],
          [0.3, 0.2, 0.1],
        ],
        SRGB_PARA,
        false,
      ),
    ],
  ];
  it.each(hostile)('%s: unusable with a reason, and the frame is taken as sRGB', async (name, profile) => {
    const parsed = parseIccProfile(profile);
    expect(parsed).toMatchObject({ kind: 'unusable', reason: expect.stringMatching(/\w{3}/) as string });
    if (name === 'empty') return;
    const frame = await decodeBytes(tiff(profile));
    assertWellFormed(frame);
    expect(frame.profile).toMatchObject({
      handling: 'taken-as-srgb',
      because: expect.stringContaining('sRGB') as string,
    });
  });

  it('cut anywhere it never throws', () => {
    for (let end = 0; end <= valid.length; end += 1)
      expect(() => parseIccProfile(valid.subarray(0, end))).not.toThrow();
  });

  it('2,000 mutations never throw, and what they give is finite and rises', () => {
    for (let seed = 1; seed <= 2000; seed += 1) {
      const { bytes, told } = mutate(valid, seed);
      const profile = parseIccProfile(bytes);
      if (profile.kind !== 'matrix') continue;
      expect(profile.rgbToXyz.every(Number.isFinite), told).toBe(true);
      for (const curve of profile.curves)
        for (const x of [0, 0.01, 0.5, 1]) expect(curve(x), told).toBeGreaterThanOrEqual(0);
    }
  });

  it('a hundred mutated profiles inside frames never harm the decode', async () => {
    for (let seed = 1; seed <= 100; seed += 1) assertWellFormed(await decodeBytes(tiff(mutate(valid, seed).bytes)));
  });
});

describe('profiles that do not fit or are tables', () => {
  it('a table profile is converted by the decoder, and said so', async () => {
    const frame = await decodeBytes(tiff(tableProfile('by table')));
    expect(frame.profile).toMatchObject({ kind: 'table', handling: 'converted-to-srgb', description: 'by table' });
    expect(luminanceAt(frame, 0)).toBeCloseTo(1, 2);
    expect(luminanceAt(frame, 2)).toBeCloseTo(0, 3);
  });

  it('a broken table, which the decoder passes over without a word, is not called converted', async () => {
    const tags = new Map([
      ['desc', descriptionTag('broken')],
      ['A2B0', Buffer.from('mft1 and then nothing of use')],
    ]);
    const frame = await decodeBytes(tiff(writeProfile({ deviceSpace: 'RGB ', connectionSpace: 'Lab ', tags })));
    expect([...frame.data]).toEqual([...PIXELS]);
    expect(frame.profile).toMatchObject({ kind: 'table', handling: 'taken-as-srgb' });
  });

  it('a grey profile in a colour image is not used', async () => {
    const frame = await decodeBytes(tiff(greyProfile('grey', curvTag([1.8 * 256]))));
    expect(frame.profile).toMatchObject({
      handling: 'taken-as-srgb',
      because: expect.stringContaining('grey') as string,
    });
  });

  it('an RGB profile in a grey image gives the luminance of R = G = B', async () => {
    const profile = rgbProfile('rgb', P3_COLUMNS, curvTag([1.8 * 256]), true);
    const frame = await decodeBytes(tiffWithProfile(Uint8Array.from([255, 128]), 2, 1, 1, profile));
    expect(frame.channels).toBe(1);
    expect(luminanceAt(frame, 0)).toBeCloseTo(1, 4);
    expect(Math.abs(Math.log2(luminanceAt(frame, 1) / (128 / 255) ** 1.8))).toBeLessThan(0.01);
  });

  it('the same profile is found in JPEG and in PNG', async () => {
    for (const bytes of [embedInJpeg(await plainJpeg(), valid), embedInPng(await SEEDS.png(), valid)])
      expect((await decodeBytes(bytes)).profile).toMatchObject({ description: 'valid', handling: 'profile-curves' });
  });
});

describe('colour code points of AVIF (H.273)', () => {
  /** An AVIF with an nclx property that says these primaries and this transfer (ISO/IEC 14496-12 clause 12.1.5). */
  async function coded(primaries: number, transfer: number): Promise<Buffer> {
    const bytes = await SEEDS.avif();
    const property = Buffer.from('\0\0\0\x13colrnclx\0\0\0\0\0\x06\x80', 'latin1');
    property.writeUInt16BE(primaries, 12);
    property.writeUInt16BE(transfer, 14);
    const start = (type: string): number => bytes.indexOf(type, 0, 'latin1') - 4;
    const [meta, iprp, ipco, mdat, iloc] = ['meta', 'iprp', 'ipco', 'mdat', 'iloc'].map(start) as Five;
    const end = ipco + bytes.readUInt32BE(ipco);
    for (const at of [meta, iprp, ipco]) bytes.writeUInt32BE(bytes.readUInt32BE(at) + property.length, at);
    const dataOffset = Buffer.alloc(4);
    dataOffset.writeUInt32BE(mdat + 8);
    const placed = bytes.indexOf(dataOffset, iloc);
    bytes.writeUInt32BE(mdat + 8 + property.length, placed);
    return Buffer.concat([bytes.subarray(0, end), property, bytes.subarray(end)]);
  }

  it('Display P3 has its own luminance row: 0.228975, 0.691739, 0.079287', async () => {
    const frame = await decodeBytes(await coded(12, 13));
    [0.228975, 0.691739, 0.079287].forEach((value, index) => expect(frame.rgbToXyz[3 + index]).toBeCloseTo(value, 5));
    expect(frame.profile.because).toContain('Display P3');
  });

  it.each([
    ['PQ', 9, 16],
    ['HLG', 9, 18],
    ['primaries unknown', 99, 13],
  ])('%s is refused: it is not read by an sRGB curve', async (_, primaries, transfer) => {
    await expect(decodeBytes(await coded(primaries, transfer))).rejects.toMatchObject({
      code: 'frame-format-unsupported',
    });
  });
});

type Five = [number, number, number, number, number];

function patched(profile: Buffer, at: number, value: number): Buffer {
  const bytes = Buffer.from(profile);
  bytes.writeUInt32BE(value, at);
  return bytes;
}

async function plainJpeg(): Promise<Buffer> {
  return sharp({ create: { width: 8, height: 8, channels: 3, background: '#808080' } })
    .jpeg()
    .toBuffer();
}
