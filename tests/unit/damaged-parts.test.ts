import { describe, expect, it } from 'vitest';
import { StopledgerError } from '../../src/errors.js';
import { sharp } from '../../worker/decode/sharp-setup.js';
import { tiffOfRows, type EntryRow } from '../support/bombs.js';
import { assertWellFormed, decodeBytes } from '../support/decoded.js';
import { partsOf } from '../support/file-parts.js';
import { mutateParts } from '../support/mutate-parts.js';
import { busyPixels, SEEDS, type SeedName } from '../support/seed-images.js';

const names = Object.keys(SEEDS) as SeedName[];
/** Formats whose parts either carry pixels or can be done without; a TIFF's or DNG's entries say what numbers mean. */
const ALL_OR_NOTHING: readonly SeedName[] = [
  'jpeg',
  'progressive jpeg',
  'grey jpeg',
  'cmyk jpeg',
  'png',
  'interlaced png',
  'palette png',
  '16-bit png',
  'webp',
  'lossless webp',
  'avif',
];
const COPIES = 40;

const markOf = (bytes: Buffer, start: number): number => bytes[start + 1] ?? 0;

describe(`${COPIES} copies of each format with parts out of their place`, () => {
  it.each(names)('%s: decoded well, or refused by a code of the frame', async (name) => {
    const [original, other] = [await SEEDS[name](), await SEEDS[names[(names.indexOf(name) + 1) % names.length] ?? 'png']()]; // prettier-ignore
    const whole = await decodeBytes(original);
    let refused = 0;
    for (let seed = 1; seed <= COPIES; seed += 1) {
      const { kind, bytes, betweenParts, told } = mutateParts(original, other, seed);
      try {
        const frame = await decodeBytes(bytes, 4_000_000);
        assertWellFormed(frame);
        if (!ALL_OR_NOTHING.includes(name) || !betweenParts || (kind !== 'part gone' && kind !== 'length')) continue;
        expect(Buffer.from(frame.data.buffer).equals(Buffer.from(whole.data.buffer)), `${name}, ${told}`).toBe(true);
      } catch (thrown) {
        if (!(thrown instanceof StopledgerError) || thrown.code === 'internal') throw thrown;
        refused += 1;
      }
    }
    expect(refused).toBeGreaterThan(0);
  });
});

describe('a JPEG that lacks what its scans need', () => {
  it.each(['jpeg', 'progressive jpeg', 'grey jpeg', 'cmyk jpeg'] as const)(
    '%s: without any one of its Huffman tables it is refused, not decoded by the typical ones',
    async (name) => {
      const bytes = await SEEDS[name]();
      const tables = partsOf(bytes).filter(({ start }) => markOf(bytes, start) === 0xc4);
      expect(tables.length).toBeGreaterThan(1);
      for (const [index, { start, end }] of tables.entries()) {
        const without = Buffer.concat([bytes.subarray(0, start), bytes.subarray(end)]);
        // A later scan of a progressive picture may bring its own table: then an earlier one of the same name serves it.
        if (name === 'progressive jpeg' && index > 1) continue;
        await expect(decodeBytes(without)).rejects.toMatchObject({ code: 'frame-corrupt' });
      }
    },
  );

  it('without any one scan of a progressive picture it is refused: detail would be missing', async () => {
    const bytes = await SEEDS['progressive jpeg']();
    const scans = partsOf(bytes).filter(({ start }) => markOf(bytes, start) === 0xda);
    expect(scans.length).toBeGreaterThan(5);
    for (const { start, end } of scans) {
      const without = Buffer.concat([bytes.subarray(0, start), bytes.subarray(end)]);
      await expect(decodeBytes(without)).rejects.toMatchObject({ code: expect.stringMatching(/truncated|corrupt/) as string }); // prettier-ignore
    }
  });

  it('whole ones of every coding stay whole', async () => {
    const picture = sharp(busyPixels(3), { raw: { width: 160, height: 120, channels: 3 } });
    for (const options of [
      { progressive: true, optimizeScans: true, trellisQuantisation: true },
      { optimizeCoding: false },
      { mozjpeg: true },
      { chromaSubsampling: '4:4:4', progressive: true },
    ])
      expect((await decodeBytes(await picture.clone().jpeg(options).toBuffer())).notes).toEqual([]);
  });
});

describe('a DNG', () => {
  it('of which a value lies past its end is refused: a level would be left out without a word', async () => {
    const bytes = await SEEDS.dng();
    const entries = partsOf(bytes);
    const blackLevel = entries.find(({ start }) => bytes.readUInt16LE(start) === 50_714);
    expect(blackLevel).toBeDefined();
    bytes.writeUInt32LE(2 ** 31 - 1, blackLevel?.lengthAt ?? 0);
    await expect(decodeBytes(bytes)).rejects.toMatchObject({ code: 'frame-truncated' });
  });
});

/** Every format with no width, no height, or neither. */
const NO_PIXELS: Record<string, (width: number, height: number) => Promise<Buffer> | Buffer> = {
  PNG: async (width, height) => {
    const bytes = await SEEDS.png();
    const { withMendedChecksums } = await import('../support/icc-writer.js');
    bytes.writeUInt32BE(width, 16);
    bytes.writeUInt32BE(height, 20);
    return withMendedChecksums(bytes);
  },
  JPEG: async (width, height) => {
    const bytes = await SEEDS.jpeg();
    const at = bytes.indexOf(Buffer.from([0xff, 0xc0]));
    bytes.writeUInt16BE(height, at + 5);
    bytes.writeUInt16BE(width, at + 7);
    return bytes;
  },
  GIF: async (width, height) => {
    const bytes = await SEEDS.gif();
    const image = bytes.indexOf(Buffer.from([0x2c, 0, 0, 0, 0]));
    for (const at of [6, image + 5]) {
      bytes.writeUInt16LE(width, at);
      bytes.writeUInt16LE(height, at + 2);
    }
    return bytes;
  },
  TIFF: async (width, height) => saying(await SEEDS['plain tiff'](), width, height),
  DNG: async (width, height) => saying(await SEEDS.dng(), width, height),
  AVIF: async (width, height) => {
    const bytes = await SEEDS.avif();
    const at = bytes.indexOf('ispe', 0, 'latin1') + 8;
    bytes.writeUInt32BE(width, at);
    bytes.writeUInt32BE(height, at + 4);
    return bytes;
  },
  WebP: async (width, height) => {
    const bytes = await SEEDS.webp();
    const at = bytes.indexOf(Buffer.from([0x9d, 0x01, 0x2a])) + 3;
    bytes.writeUInt16LE(width, at);
    bytes.writeUInt16LE(height, at + 2);
    return bytes;
  },
  'TIFF of nothing else': (width, height) => {
    const rows: EntryRow[] = [[256, 4, 1, width], [257, 4, 1, height], [273, 4, 1, 8], [279, 4, 1, 0]]; // prettier-ignore
    return tiffOfRows([rows]);
  },
};

function saying(tiff: Buffer, width: number, height: number): Buffer {
  for (const { start } of partsOf(tiff)) {
    const tag = tiff.readUInt16LE(start);
    if (tag === 256) tiff.writeUInt32LE(width, start + 8);
    if (tag === 257) tiff.writeUInt32LE(height, start + 8);
  }
  return tiff;
}

describe('a picture without pixels', () => {
  const sizes = [[0, 64], [64, 0], [0, 0]] as const; // prettier-ignore
  it.each(Object.keys(NO_PIXELS).flatMap((name) => sizes.map(([width, height]) => [name, width, height] as const)))(
    '%s of %i x %i is refused as the frame’s own fault',
    async (name, width, height) => {
      const bytes = await NO_PIXELS[name]?.(width, height);
      const code = expect.stringMatching(/^frame-(corrupt|truncated|format-unsupported)$/) as string;
      await expect(decodeBytes(bytes ?? Buffer.alloc(0))).rejects.toMatchObject({ code });
    },
  );
});
