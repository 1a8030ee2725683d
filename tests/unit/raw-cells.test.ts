import { existsSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../samples/make/random.js';
import { withLibRaw } from '../../worker/decode/libraw-module.js';
import { SETTINGS } from '../../worker/decode/libraw-settings.js';
import { CROP_TO_STRIP, isMadeOfCells, pictureOfCells, WHOLE_PICTURE } from '../../worker/decode/raw-cells.js';
import { assertWellFormed, decodeBytes } from '../support/decoded.js';
import { writeDng, type DngContent } from '../support/dng-writer.js';

const CHART = fileURLToPath(new URL('../../../shared/files/dng/colorchart.dng', import.meta.url));
const [WIDTH_PX, HEIGHT_PX, WHITE] = [64, 1200, 15_871];

/** A noisy slope from under black to beyond white, with no value of 0. */
function dng(change: Partial<DngContent> = {}, valueAt?: (value: number, x: number, y: number) => number): Buffer {
  const random = seededRandom('slope');
  const mosaic = Uint16Array.from({ length: WIDTH_PX * HEIGHT_PX }, (_, i) => {
    const [x, y] = [i % WIDTH_PX, Math.floor(i / WIDTH_PX)];
    const value = Math.max(1, Math.min(16_383, Math.round(400 + 17_000 * (x / WIDTH_PX) ** 3 + 60 * random.normal())));
    return valueAt === undefined ? value : valueAt(value, x, y);
  });
  const content = { mosaic, widthPx: WIDTH_PX, heightPx: HEIGHT_PX, blackLevel: 512, whiteLevel: WHITE };
  return writeDng({ ...content, neutral: [0.5, 1, 0.7], ...change });
}

/** What LibRaw makes of the whole picture: the slow way, which all else is held to. */
const asLibRawDoes = (bytes: Buffer) =>
  withLibRaw((libraw) => {
    libraw.open(bytes, { ...SETTINGS, cropbox: WHOLE_PICTURE });
    return libraw.imageData()!;
  });

/** Null where LibRaw has to make the picture. */
const fromCells = (bytes: Buffer) =>
  withLibRaw((libraw) => {
    libraw.open(bytes, { ...SETTINGS, cropbox: CROP_TO_STRIP });
    const header = libraw.metadata(true);
    if (!isMadeOfCells(header)) return null;
    const strip = libraw.imageData();
    return pictureOfCells(header, strip, libraw.metadata(true), libraw.rawImageData());
  });

const same = (a: Uint16Array, b: Uint16Array | Uint8Array) =>
  Buffer.compare(
    Buffer.from(a.buffer, a.byteOffset, a.byteLength),
    Buffer.from(b.buffer, b.byteOffset, b.byteLength),
  ) === 0;

async function holdToLibRaw(bytes: Buffer): Promise<void> {
  const expected = await asLibRawDoes(bytes);
  const frame = await decodeBytes(bytes);
  assertWellFormed(frame);
  expect([frame.storedWidthPx, frame.storedHeightPx]).toEqual([expected.width, expected.height]);
  expect(same(frame.data as Uint16Array, expected.data)).toBe(true);
}

const blacks = (...levels: [number, number, number, number]) => ({ blackLevel: { rows: 2, columns: 2, levels } });

describe('a raw picture from its mosaic', () => {
  it.each<[string, Partial<DngContent>]>([
    ['as it is', {}],
    ['green amplified most', { neutral: [1, 0.6, 0.9] }],
    ['light of lamps', { neutral: [0.8, 1, 0.4] }],
    ['a balance of no round numbers', { neutral: [0.4377, 0.9713, 0.6129], whiteLevel: 15_800 }],
    ['no channel amplified', { neutral: [1, 1, 1] }],
    ['blue first', { cfa: [2, 1, 1, 0] }],
    ['green first, then red', { cfa: [1, 0, 2, 1] }],
    ['green first, then blue', { cfa: [1, 2, 0, 1] }],
    ['turned', { orientation: 6 }],
    ['with masked edges', { activeArea: [6, 4, HEIGHT_PX - 2, WIDTH_PX - 4] }],
    ['with masked edges of odd width', { activeArea: [5, 3, HEIGHT_PX - 1, WIDTH_PX - 1] }],
    ['black levels of its own at each place', blacks(510, 514, 509, 517)],
    ['black levels far apart', blacks(300, 560, 540, 512)],
    ['white at the end of 16 bits', { whiteLevel: 65_535 }],
    ['no black level', { blackLevel: 0 }],
    ['compressed without loss', { losslessBits: 14 }],
  ])('%s: the same codes as LibRaw, bit for bit', async (_, change) => {
    const bytes = dng(change);
    expect((await fromCells(bytes)) === null).toBe(false);
    await holdToLibRaw(bytes);
  });

  it.each<[string, Partial<DngContent>]>([
    [
      'a pattern of black levels over more than one cell',
      { blackLevel: { rows: 4, columns: 2, levels: [512, 512, 512, 512, 540, 540, 540, 540] } },
    ],
    ['a picture that ends above the strip', { activeArea: [0, 0, 1080, WIDTH_PX] }],
  ])('%s: LibRaw makes the picture', async (_, change) => {
    const bytes = dng(change);
    expect((await fromCells(bytes)) === null).toBe(true);
    await holdToLibRaw(bytes);
  });

  it('a strip that is full says nothing of black levels that are not alike: LibRaw makes the picture', async () => {
    const bytes = dng(blacks(510, 514, 509, 517), (value, _, y) => (y > 1000 && y < 1100 ? 16_383 : value));
    expect((await fromCells(bytes)) === null).toBe(true);
    await holdToLibRaw(bytes);
  });

  it('a value of 0 where the strip has none: it may mean a dead pixel, LibRaw makes the picture', async () => {
    const bytes = dng({}, (value, x, y) => (x === 9 && y === 77 ? 0 : value));
    expect((await fromCells(bytes)) === null).toBe(true);
    await holdToLibRaw(bytes);
  });

  it('values of 0 in the strip, which LibRaw takes as they are: they are so everywhere', async () => {
    const bytes = dng({}, (value, x, y) => (x === 9 && y % 50 === 0 ? 0 : value));
    expect((await fromCells(bytes)) === null).toBe(false);
    await holdToLibRaw(bytes);
  });

  it.skipIf(!existsSync(CHART))('of a camera: the same codes (skipped where ../shared is absent)', async () => {
    const bytes = readFileSync(CHART);
    expect((await fromCells(bytes)) === null).toBe(false);
    await holdToLibRaw(bytes);
  });
});
