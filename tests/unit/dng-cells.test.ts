import { existsSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../samples/make/random.js';
import { pictureOfDng } from '../../worker/decode/dng-cells.js';
import { decodeFrame } from '../../worker/decode/decode-frame.js';
import { withLibRaw } from '../../worker/decode/libraw-module.js';
import { SETTINGS } from '../../worker/decode/libraw-settings.js';
import { isMadeOfCells, WHOLE_PICTURE } from '../../worker/decode/raw-cells.js';
import { sharp } from '../../worker/decode/sharp-setup.js';
import { sniffFormat } from '../../worker/read/sniff-format.js';
import { assertWellFormed, decodeBytes } from '../support/decoded.js';
import { writeDng, type DngContent } from '../support/dng-writer.js';
import { mutate } from '../support/mutate.js';

const CHART = fileURLToPath(new URL('../../../shared/files/dng/colorchart.dng', import.meta.url));
const [WIDTH_PX, HEIGHT_PX, WHITE] = [64, 1200, 3900];

/** A noisy slope from under black to beyond white in 12 bits, with no value of 0. */
function dng(change: Partial<DngContent> = {}, valueAt?: (value: number, x: number, y: number) => number): Buffer {
  const { widthPx = WIDTH_PX, heightPx = HEIGHT_PX } = change;
  const random = seededRandom('dng');
  const mosaic = Uint16Array.from({ length: widthPx * heightPx }, (_, i) => {
    const [x, y] = [i % widthPx, Math.floor(i / widthPx)];
    const value = Math.max(1, Math.min(4095, Math.round(100 + 4200 * (x / widthPx) ** 3 + 15 * random.normal())));
    return valueAt === undefined ? value : valueAt(value, x, y);
  });
  return writeDng({
    mosaic,
    widthPx,
    heightPx,
    blackLevel: 128,
    whiteLevel: WHITE,
    neutral: [0.5, 1, 0.7],
    ...change,
  });
}

/** What LibRaw makes of the whole file; null where it refuses it. */
const asLibRawDoes = (bytes: Buffer) =>
  withLibRaw((libraw, attempt) =>
    attempt('the whole file', 'frame-corrupt', () => {
      libraw.open(bytes, { ...SETTINGS, cropbox: WHOLE_PICTURE });
      return libraw.imageData()!;
    }),
  ).catch(() => null);

/** Null where LibRaw has to read the mosaic. */
const readHere = (bytes: Buffer) =>
  withLibRaw((libraw, attempt, beside) => {
    const header = attempt('the whole file', 'frame-corrupt', () => {
      libraw.open(bytes, { ...SETTINGS, cropbox: WHOLE_PICTURE });
      return libraw.metadata(true);
    });
    return isMadeOfCells(header) ? pictureOfDng(bytes, header, beside) : null;
  });

const bytesOf = (data: Uint16Array | Uint8Array) => Buffer.from(data.buffer, data.byteOffset, data.byteLength);

async function holdToLibRaw(bytes: Buffer): Promise<void> {
  const expected = (await asLibRawDoes(bytes))!;
  const frame = await decodeBytes(bytes);
  assertWellFormed(frame);
  expect([frame.storedWidthPx, frame.storedHeightPx]).toEqual([expected.width, expected.height]);
  expect(bytesOf(frame.data).equals(bytesOf(expected.data))).toBe(true);
  // Of no known family, LibRaw reads it all.
  const sniffed = { ...sniffFormat(bytes)!, rawFamily: null };
  const plain = await decodeFrame(bytes, sniffed, { maxPixels: 1e8, orientation: 1 });
  const large = { data: null, codeToLinear: null, embeddedPreview: null };
  expect({ ...frame, ...large }).toEqual({ ...plain, ...large });
  const ends = ({ codeToLinear }: typeof plain) => codeToLinear.map((table) => table.at(-1));
  expect(ends(frame)).toEqual(ends(plain));
}

const jpegOf = async (widthPx: number, heightPx: number) => {
  const pixels = { create: { width: widthPx, height: heightPx, channels: 3 as const, background: '#806040' } };
  return { jpeg: await sharp(pixels).jpeg().toBuffer(), widthPx, heightPx };
};

const blacks = (...levels: [number, number, number, number]) => ({ blackLevel: { rows: 2, columns: 2, levels } });
const lossless = { losslessBits: 12 };

describe('a DNG whose mosaic is read without LibRaw', () => {
  it.each<[string, Partial<DngContent>]>([
    ['16 bits', {}],
    ['16 bits, big-endian', { byteOrder: 'MM' }],
    ['12 bits, packed', { packedBits: 12 }],
    ['14 bits, packed, big-endian', { packedBits: 14, byteOrder: 'MM' }],
    ['12 bits, rows that end amid a byte', { packedBits: 12, widthPx: 65, activeArea: [0, 0, HEIGHT_PX, 64] }],
    ['strips one after another', { stripRows: 100 }],
    ['masked edges', { activeArea: [6, 4, HEIGHT_PX - 2, WIDTH_PX - 4] }],
    ['masked edges of odd width', { activeArea: [5, 3, HEIGHT_PX - 1, WIDTH_PX - 1] }],
    ['turned', { orientation: 6 }],
    ['blue first', { cfa: [2, 1, 1, 0] }],
    ['black levels of its own at each place', blacks(126, 130, 125, 133)],
    ['lossless JPEG', lossless],
    ['lossless JPEG, big-endian', { ...lossless, byteOrder: 'MM' }],
    ['lossless JPEG, masked edges of odd width', { ...lossless, activeArea: [5, 3, HEIGHT_PX - 1, WIDTH_PX - 1] }],
    ['lossless JPEG, turned', { ...lossless, orientation: 8 }],
    ['lossless JPEG, black levels of its own at each place', { ...lossless, ...blacks(126, 130, 125, 133) }],
    ['lossless JPEG of one component', { ...lossless, losslessForm: { components: 1, predictor: 5 } }],
    ['lossless JPEGs side by side', { ...lossless, widthPx: 66, tile: { widthPx: 24, heightPx: 32 } }],
    ['lossless JPEGs above each other', { ...lossless, tile: { widthPx: 64, heightPx: 160 } }],
    [
      'two lossless JPEGs of one component side by side',
      { ...lossless, tile: { widthPx: 32, heightPx: 64 }, losslessForm: { components: 1 } },
    ],
    [
      'lossless JPEGs, masked edges',
      { ...lossless, tile: { widthPx: 24, heightPx: 80 }, activeArea: [6, 4, 1190, 60] },
    ],
  ])('%s: the same codes as LibRaw, bit for bit', async (_, change) => {
    const bytes = dng(change);
    expect((await readHere(bytes)) === null).toBe(false);
    await holdToLibRaw(bytes);
  });

  it.each([1, 2, 3, 4, 5, 6, 7])('predictor %i: the same codes as LibRaw', async (predictor) => {
    const bytes = dng({ ...lossless, losslessForm: { predictor } });
    expect((await readHere(bytes)) === null).toBe(false);
    await holdToLibRaw(bytes);
  });

  it.each<[string, Partial<DngContent>]>([
    ['16 bits', {}],
    ['lossless JPEG', lossless],
  ])('beside a preview of any size, and before more bytes: the same codes, %s', async (_, change) => {
    for (const [widthPx, heightPx] of [
      [60, 40],
      [WIDTH_PX, HEIGHT_PX],
    ] as const) {
      const bytes = dng({ ...change, preview: await jpegOf(widthPx, heightPx) });
      expect((await readHere(bytes)) === null).toBe(false);
      await holdToLibRaw(bytes);
      expect((await decodeBytes(bytes)).embeddedPreview).toMatchObject({ widthPx, heightPx });
    }
    const more = Buffer.concat([dng(change), Buffer.alloc(5000, 7)]);
    expect((await readHere(more)) === null).toBe(false);
    await holdToLibRaw(more);
  });

  it('wide enough for many batches of rows', async () => {
    for (const change of [{ packedBits: 14 }, lossless]) {
      const bytes = dng({ ...change, widthPx: 1000, heightPx: 1320 });
      expect((await readHere(bytes)) === null).toBe(false);
      await holdToLibRaw(bytes);
    }
  });

  const curve = new Map([[50_712, { type: 'short' as const, values: Array.from({ length: 4096 }, (_, i) => i >> 1) }]]);
  const masked = new Map([[50_830, { type: 'long' as const, values: [0, 0, 4, WIDTH_PX] }]]);
  it.each<[string, Partial<DngContent>]>([
    ['strips with gaps between them', { widthPx: 66, packedBits: 12, stripRows: 99 }],
    ['lossless JPEGs of too few rows for LibRaw', { ...lossless, tile: { widthPx: 24, heightPx: 16 } }],
    ['values that go through a table', { more: curve }],
    ['lossless JPEG, values that go through a table', { ...lossless, more: curve }],
    ['black levels read from a masked edge', { more: masked, activeArea: [4, 0, HEIGHT_PX, WIDTH_PX] }],
    [
      'black levels of more than one cell, alike in the strip',
      { blackLevel: { rows: 4, columns: 2, levels: [128, 128, 128, 128, 128, 128, 128, 128] } },
    ],
    [
      'two lossless JPEGs side by side, of which LibRaw takes rows twice',
      { ...lossless, tile: { widthPx: 32, heightPx: 64 } },
    ],
    ['a picture that ends above the strip', { activeArea: [0, 0, 1080, WIDTH_PX] }],
  ])('%s: LibRaw reads it', async (_, change) => {
    const bytes = dng(change);
    expect((await readHere(bytes)) === null).toBe(true);
    await holdToLibRaw(bytes);
  });

  it('a value of 0 where the strip has none: LibRaw reads it; where it has some: not', async () => {
    for (const change of [{}, lossless]) {
      const one = dng(change, (value, x, y) => (x === 9 && y === 77 ? 0 : value));
      expect((await readHere(one)) === null).toBe(true);
      await holdToLibRaw(one);
      const many = dng(change, (value, x, y) => (x === 9 && y % 50 === 0 ? 0 : value));
      expect((await readHere(many)) === null).toBe(false);
      await holdToLibRaw(many);
    }
  });

  it('codes that are damaged below the strip: as LibRaw makes of them, or refused as it does', async () => {
    const bytes = dng(lossless);
    bytes.fill(0xff, bytes.length - 600, bytes.length - 500);
    expect((await readHere(bytes)) === null).toBe(true);
    await holdToLibRaw(bytes);
  });

  it.skipIf(!existsSync(CHART))('of a camera, 14 bits packed (skipped where ../shared is absent)', async () => {
    const bytes = readFileSync(CHART);
    expect((await readHere(bytes)) === null).toBe(false);
    await holdToLibRaw(bytes);
  });

  it.each<[string, Partial<DngContent>]>([
    ['12 bits, packed', { packedBits: 12 }],
    ['lossless JPEG', lossless],
    ['lossless JPEGs side by side', { ...lossless, widthPx: 66, tile: { widthPx: 24, heightPx: 48 } }],
  ])('100 damaged ones, %s: what is decoded is what LibRaw makes of them', async (_, change) => {
    const whole = dng(change);
    let same = 0;
    for (let seed = 1; seed <= 100; seed += 1) {
      const { bytes, told } = mutate(whole, seed);
      const frame = await decodeBytes(bytes, 4_000_000).catch((error: unknown) => {
        expect(error, told).toMatchObject({ code: expect.stringMatching(/^frame-/) as string });
        return null;
      });
      // Where LibRaw reads the mosaic and gives up amid it, the rest is what lay in its memory.
      if (frame?.format !== 'raw' || (await readHere(bytes)) === null) continue;
      const expected = await asLibRawDoes(bytes);
      expect(expected === null, told).toBe(false);
      expect(bytesOf(frame.data).equals(bytesOf(expected!.data)), told).toBe(true);
      same += 1;
    }
    expect(same).toBeGreaterThan(4);
  });
});
