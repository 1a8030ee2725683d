import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { crc32, deflateSync } from 'node:zlib';
import { describe, expect, it } from 'vitest';
import { StopledgerError } from '../../src/errors.js';
import { decodeFrame } from '../../worker/decode/decode-frame.js';
import { sniffFormat } from '../../worker/read/sniff-format.js';
import { assertWellFormed, decodeBytes, luminanceAt } from '../support/decoded.js';
import { pngChunk, tiffWithProfile } from '../support/icc-writer.js';
import { mutate } from '../support/mutate.js';
import { busyPixels, SEED_SIZE_PX, SEEDS, type SeedName } from '../support/seed-images.js';
import { sharp } from '../../worker/decode/sharp-setup.js';

const names = Object.keys(SEEDS) as SeedName[];
const LOSSLESS_8_BIT: readonly SeedName[] = ['png', 'interlaced png', 'plain tiff', 'lzw tiff', 'lossless webp'];

describe('whole files of every format', () => {
  it.each(names)('%s decodes to well-formed pixels', async (name) => {
    const frame = await decodeBytes(await SEEDS[name]());
    assertWellFormed(frame);
    expect(frame.maxCode).toBe(name.startsWith('16-bit') || name === 'dng' ? 65_535 : 255);
    expect(frame.channels).toBe(/grey|1-bit tiff/.test(name) ? 1 : 3);
    if (name !== 'dng') {
      expect(frame).toMatchObject({ storedWidthPx: SEED_SIZE_PX.widthPx, storedHeightPx: SEED_SIZE_PX.heightPx });
      expect(frame.encoding).toBe('rendered');
    }
  });

  it.each(LOSSLESS_8_BIT)('%s gives the very codes that went in', async (name) => {
    const frame = await decodeBytes(await SEEDS[name]());
    expect(Buffer.from(frame.data).equals(Buffer.from(busyPixels(3)))).toBe(true);
  });

  it.each(['16-bit png', '16-bit tiff'] as const)('%s keeps all 16 bits', async (name) => {
    const frame = await decodeBytes(await SEEDS[name]());
    const eight = busyPixels(3);
    const expected = Uint16Array.from(eight, (code, index) => code * 257 - (index % 2 && code > 0 ? 100 : 0));
    expect(frame.data).toEqual(expected);
    expect(frame.sourceBitDepth).toBe(16);
  });

  it.each(['1-bit png', '1-bit tiff'] as const)('%s gives black and white only, as written', async (name) => {
    const frame = await decodeBytes(await SEEDS[name]());
    expect(frame.sourceBitDepth).toBe(1);
    busyPixels(1).forEach((code, index) => {
      if (index % 97 === 0) expect(luminanceAt(frame, index)).toBeCloseTo(code >= 128 ? 1 : 0, 6);
    });
  });

  it('CMYK is converted to sRGB, and said so', async () => {
    const frame = await decodeBytes(await SEEDS['cmyk jpeg']());
    expect(frame.profile.handling).toBe('converted-to-srgb');
    expect(frame.notes.join(' ')).toContain('CMYK');
  });

  it('alpha is dropped, colours are those stored, and said so', async () => {
    const frame = await decodeBytes(await SEEDS['png with alpha']());
    const stored = busyPixels(4);
    expect([...frame.data.subarray(0, 6)]).toEqual([0, 1, 2, 4, 5, 6].map((index) => stored[index]));
    expect(frame.notes.join(' ')).toContain('alpha');
  });

  it('of several images the first is taken, and said so', async () => {
    const pages = busyPixels(3, 32, 96);
    const bytes = await sharp(pages, { raw: { width: 32, height: 96, channels: 3, pageHeight: 32 } })
      .gif()
      .toBuffer();
    const frame = await decodeBytes(bytes);
    expect(frame).toMatchObject({ storedWidthPx: 32, storedHeightPx: 32 });
    expect(frame.notes.join(' ')).toContain('3 images');
  });

  it.each([1, 2, 3, 4, 5, 6, 7, 8])('orientation %i is handed on, pixels stay as stored', async (orientation) => {
    const bytes = await sharp(busyPixels(3), { raw: { width: 160, height: 120, channels: 3 } })
      .withMetadata({ orientation })
      .jpeg()
      .toBuffer();
    expect(await decodeBytes(bytes, 1e8, orientation)).toMatchObject({
      orientation,
      storedWidthPx: 160,
      storedHeightPx: 120,
    });
  });

  it('AVIF comes upright from its decoder: nothing is left to apply', async () => {
    const bytes = await sharp(busyPixels(3), { raw: { width: 160, height: 120, channels: 3 } })
      .withMetadata({ orientation: 6 })
      .avif({ effort: 0 })
      .toBuffer();
    expect(await decodeBytes(bytes, 1e8, 6)).toMatchObject({ orientation: 1, storedWidthPx: 120, storedHeightPx: 160 });
  });

  it.each([10, 12] as const)('AVIF of %i bits: its full code is white and clipped', async (bitdepth) => {
    const white = sharp(new Uint16Array(16 * 16 * 3).fill(65_535), { raw: { width: 16, height: 16, channels: 3 } });
    const avif = await white.toColourspace('rgb16').avif({ bitdepth, lossless: true }).toBuffer();
    const frame = await decodeBytes(avif);
    expect(frame.sourceBitDepth).toBe(bitdepth);
    expect(luminanceAt(frame, 0)).toBeCloseTo(1, 3);
    expect(frame.data[1] ?? 0).toBeGreaterThanOrEqual(frame.clipFromCode[1] ?? Infinity);
  });
});

describe('files that are not what they should be', () => {
  it.each<[string, Buffer, string]>([
    ['nothing', Buffer.alloc(0), 'frame-empty'],
    ['zero bytes', Buffer.alloc(4096), 'frame-not-an-image'],
    ['text', Buffer.from('Portrait day, village hall, list of makers\n'.repeat(20)), 'frame-not-an-image'],
    ['a PDF head', Buffer.from('%PDF-1.7\n'), 'frame-not-an-image'],
    [
      'a JPEG mark and noise',
      Buffer.concat([Buffer.from([0xff, 0xd8, 0xff, 0xe0]), Buffer.from(busyPixels(1))]),
      'frame-truncated',
    ],
  ])('%s is refused', async (_, bytes, code) => {
    await expect(decodeBytes(bytes)).rejects.toMatchObject({ code });
  });

  it('an empty file is refused whatever it was said to be', async () => {
    const sniffed = { format: 'jpeg', rawFamily: null, mediaType: 'image/jpeg' } as const;
    const decoding = decodeFrame(Buffer.alloc(0), sniffed, { maxPixels: 1e8, orientation: 1 });
    await expect(decoding).rejects.toMatchObject({ code: 'frame-empty' });
  });

  const CUTS = [0.3, 0.6, 0.9] as const;
  it.each(names.flatMap((name) => CUTS.map((share) => [name, share] as const)))(
    '%s cut at %f of its length is refused as truncated',
    async (name, share) => {
      const bytes = await SEEDS[name]();
      const decoding = decodeBytes(bytes.subarray(0, Math.floor(bytes.length * share)));
      await expect(decoding).rejects.toMatchObject({ code: 'frame-truncated' });
    },
  );

  it.each(['jpeg', 'progressive jpeg', 'png', 'interlaced png', 'plain tiff', 'webp', 'avif', 'dng'] as const)(
    '%s without its last byte is refused as truncated',
    async (name) => {
      const bytes = await SEEDS[name]();
      await expect(decodeBytes(bytes.subarray(0, -1))).rejects.toMatchObject({ code: 'frame-truncated' });
    },
  );

  it('a JPEG whose data was lost in its middle is not measured as whole', async () => {
    const bytes = await SEEDS.jpeg();
    const holed = Buffer.concat([bytes.subarray(0, bytes.length / 2), bytes.subarray((bytes.length * 3) / 4)]);
    await expect(decodeBytes(holed)).rejects.toMatchObject({ code: 'frame-truncated' });
  });

  it('stray bytes between JPEG segments leave every pixel right: decoded, with a note', async () => {
    const bytes = await SEEDS.jpeg();
    const tables = bytes.indexOf(Buffer.from([0xff, 0xdb]));
    const stray = Buffer.concat([bytes.subarray(0, tables), Buffer.from([1, 2, 3]), bytes.subarray(tables)]);
    const frame = await decodeBytes(stray);
    expect(frame.notes.join(' ')).toContain('extraneous bytes');
    expect(Buffer.from(frame.data).equals(Buffer.from((await decodeBytes(bytes)).data))).toBe(true);
  });

  it('a PNG with one flipped bit of image data is refused (CRC)', async () => {
    const bytes = await SEEDS.png();
    const at = Math.floor(bytes.length / 2);
    bytes[at] = (bytes[at] ?? 0) ^ 4;
    await expect(decodeBytes(bytes)).rejects.toBeInstanceOf(StopledgerError);
  });
});

/** 30,000 x 30,000 pixels announced by a file of a few hundred bytes. */
const HUGE_PX = 30_000;

function hugePng(): Buffer {
  const header = Buffer.alloc(13);
  header.writeUInt32BE(HUGE_PX, 0);
  header.writeUInt32BE(HUGE_PX, 4);
  header.set([8, 2, 0, 0, 0], 8);
  const signature = Buffer.from([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a]);
  const data = deflateSync(Buffer.alloc(1000));
  return Buffer.concat([
    signature,
    pngChunk('IHDR', header),
    pngChunk('IDAT', data),
    pngChunk('IEND', Buffer.alloc(0)),
  ]);
}

async function hugeJpeg(): Promise<Buffer> {
  const bytes = await SEEDS.jpeg();
  const frameHeader = bytes.indexOf(Buffer.from([0xff, 0xc0]));
  bytes.writeUInt16BE(HUGE_PX, frameHeader + 5);
  bytes.writeUInt16BE(HUGE_PX, frameHeader + 7);
  return bytes;
}

function hugeGif(): Buffer {
  const bytes = Buffer.alloc(64);
  bytes.write('GIF89a', 0, 'latin1');
  bytes.writeUInt16LE(HUGE_PX, 6);
  bytes.writeUInt16LE(HUGE_PX, 8);
  bytes[10] = 0x80;
  bytes.set([0x2c, 0, 0, 0, 0, 0x30, 0x75, 0x30, 0x75, 0, 2, 2, 0x44, 1, 0, 0x3b], 19);
  return bytes;
}

async function hugeAvif(): Promise<Buffer> {
  const bytes = await SEEDS.avif();
  const size = bytes.indexOf('ispe', 0, 'latin1') + 8;
  bytes.writeUInt32BE(HUGE_PX, size);
  bytes.writeUInt32BE(HUGE_PX, size + 4);
  return bytes;
}

describe('sizes', () => {
  it.each<[string, () => Promise<Buffer>]>([
    ['PNG', async () => hugePng()],
    ['JPEG', hugeJpeg],
    ['GIF', async () => hugeGif()],
    ['TIFF', async () => tiffWithProfile(new Uint8Array(300), HUGE_PX, HUGE_PX, 3, null)],
    ['AVIF', hugeAvif],
  ])('a small %s that announces 30,000 x 30,000 pixels is refused before decoding', async (_, make) => {
    await expect(decodeBytes(await make(), 300_000_000)).rejects.toMatchObject({ code: 'frame-too-many-pixels' });
  });

  it('exactly the allowed number of pixels passes, one fewer does not', async () => {
    const bytes = await SEEDS.png();
    expect((await decodeBytes(bytes, 160 * 120)).storedWidthPx).toBe(160);
    await expect(decodeBytes(bytes, 160 * 120 - 1)).rejects.toMatchObject({ code: 'frame-too-many-pixels' });
  });

  it('the CRC used to write test files is that of PNG: IEND has AE426082 (PNG specification)', () => {
    expect(crc32(Buffer.from('IEND')).toString(16)).toBe('ae426082');
  });
});

const MUTATIONS = Number(process.env.MUTATIONS ?? 60);
const heifFile = join(import.meta.dirname, '../../../shared/files/heif/kf_orient6.heic');
const MUTATED: readonly SeedName[] = [
  'jpeg',
  'progressive jpeg',
  'png',
  '16-bit tiff',
  'lzw tiff',
  'webp',
  'avif',
  'gif',
  'dng',
];

async function survives(bytes: Buffer, told: string): Promise<'decoded' | 'refused'> {
  try {
    assertWellFormed(await decodeBytes(bytes, 4_000_000));
    return 'decoded';
  } catch (thrown) {
    if (thrown instanceof StopledgerError && thrown.code !== 'internal') return 'refused';
    throw new Error(`${told}: ${String(thrown)}`, { cause: thrown });
  }
}

describe(`${MUTATIONS} mutations of each format (more with MUTATIONS=300)`, () => {
  it.each(MUTATED)('%s: decoded well or refused by code, never silently whole when cut', async (name) => {
    const original = await SEEDS[name]();
    const outcomes = { decoded: 0, refused: 0 };
    for (let seed = 1; seed <= MUTATIONS; seed += 1) {
      const { kind, bytes, told } = mutate(original, seed);
      const outcome = await survives(bytes, `${name}, ${told}`);
      outcomes[outcome] += 1;
      if (kind === 'cut')
        expect(outcome, `${name}, ${told}: ${bytes.length} of ${original.length} bytes`).toBe('refused');
    }
    expect(outcomes.refused).toBeGreaterThan(0);
  });

  it.skipIf(!existsSync(heifFile))('heic (skipped where ../shared is absent)', async () => {
    const original = readFileSync(heifFile);
    expect(sniffFormat(original)?.format).toBe('heif');
    for (let seed = 1; seed <= MUTATIONS; seed += 1) {
      const { kind, bytes, told } = mutate(original, seed);
      const outcome = await survives(bytes, `heic, ${told}`);
      if (kind === 'cut') expect(outcome, told).toBe('refused');
    }
  });
});
