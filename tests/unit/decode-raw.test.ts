import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { SATURATION_LINEAR } from '../../worker/decode/decode-raw.js';
import { sharp } from '../../worker/decode/sharp-setup.js';
import { missingForSize } from '../../worker/decode/raw-extents.js';
import { assertWellFormed, decodeBytes, linearAt, luminanceAt } from '../support/decoded.js';
import { mosaicOf, writeDng, type DngContent } from '../support/dng-writer.js';

const BLACK = 512;
const WHITE = 15_871;
const COLUMN_PX = 16;

/** A wedge of columns, each a neutral scene level as a share of the green channel's saturation. */
function wedge(shares: readonly number[], neutral: DngContent['neutral'], extra: Partial<DngContent> = {}): Buffer {
  const [widthPx, heightPx] = [shares.length * COLUMN_PX, 32];
  const mosaic = mosaicOf(widthPx, heightPx, BLACK, WHITE, (x) => {
    const share = shares[Math.floor(x / COLUMN_PX)] ?? 0;
    return [share * neutral[0], share * neutral[1], share * neutral[2]];
  });
  return writeDng({ mosaic, widthPx, heightPx, blackLevel: BLACK, whiteLevel: WHITE, neutral, ...extra });
}

/** Index of a pixel in the middle of a column of the half-size frame. */
const inColumn = (column: number, columns: number): number =>
  8 * ((columns * COLUMN_PX) / 2) + column * (COLUMN_PX / 2) + 4;

describe('raw frames', () => {
  const stops = [0, -0.5, -1, -2, -3, -4, -5, -6];

  it.each([
    ['equal channels', [1, 1, 1]],
    ['daylight-like balance', [0.5, 1, 0.7]],
    ['lamp-like balance: blue amplified most', [0.8, 1, 0.4]],
    ['green amplified most', [1, 0.6, 0.9]],
  ] as const)('%s: a wedge in half and whole stops reads true to 0.01 stop', async (_, neutral) => {
    const peak = Math.max(...neutral);
    const shares = stops.map((stop) => (2 ** stop * 0.98) / peak);
    const frame = await decodeBytes(wedge(shares, neutral));
    assertWellFormed(frame);
    expect(frame).toMatchObject({
      encoding: 'scene',
      format: 'raw',
      maxCode: 65_535,
      storedWidthPx: 64,
      storedHeightPx: 16,
    });
    shares.forEach((share, column) => {
      // A neutral: green's share of its saturation times the linear value of saturation.
      const expected = share * neutral[1] * SATURATION_LINEAR;
      const index = inColumn(column, shares.length);
      expect(Math.abs(Math.log2(luminanceAt(frame, index) / expected)), `${share}`).toBeLessThan(0.01);
      const [r, g, b] = linearAt(frame, index);
      expect(Math.abs(Math.log2(r / g)), `red of ${share}`).toBeLessThan(0.02);
      expect(Math.abs(Math.log2(b / g)), `blue of ${share}`).toBeLessThan(0.02);
    });
  });

  it('saturation stands 2.963 stops above an 18 % grey at S_sat (log2 7.8, ISO 12232:2006)', () => {
    expect(Math.log2(SATURATION_LINEAR / 0.18)).toBeCloseTo(2.963, 3);
  });

  it('a colour of known sRGB values has its luminance: 0.2126 R + 0.7152 G + 0.0722 B', async () => {
    const neutral = [0.5, 1, 0.7] as const;
    const scene = [0.3, 0.1, 0.05] as const;
    const [widthPx, heightPx] = [32, 32];
    const mosaic = mosaicOf(widthPx, heightPx, BLACK, WHITE, () => [
      scene[0] * neutral[0],
      scene[1] * neutral[1],
      scene[2] * neutral[2],
    ]);
    const frame = await decodeBytes(
      writeDng({ mosaic, widthPx, heightPx, blackLevel: BLACK, whiteLevel: WHITE, neutral }),
    );
    const expected = (0.2126 * scene[0] + 0.7152 * scene[1] + 0.0722 * scene[2]) * SATURATION_LINEAR;
    expect(Math.abs(Math.log2(luminanceAt(frame, 40) / expected))).toBeLessThan(0.01);
  });

  it.each([
    ['red', 0],
    ['green', 1],
    ['blue', 2],
  ] as const)('only %s photosites full: that channel and no other is clipped', async (_, full) => {
    const neutral = [0.5, 1, 0.7] as const;
    const [widthPx, heightPx] = [32, 32];
    const shares = [0.9, 0.9, 0.9];
    shares[full] = 1.7;
    const mosaic = mosaicOf(widthPx, heightPx, BLACK, WHITE, () => [shares[0] ?? 0, shares[1] ?? 0, shares[2] ?? 0]);
    const frame = await decodeBytes(
      writeDng({ mosaic, widthPx, heightPx, blackLevel: BLACK, whiteLevel: WHITE, neutral }),
    );
    const clipped = [0, 1, 2].map((c) => (frame.data[c] ?? 0) >= (frame.clipFromCode[c] ?? 0));
    expect(clipped).toEqual([0, 1, 2].map((c) => c === full));
  });

  it('codes at and under the black level are no light', async () => {
    const frame = await decodeBytes(wedge([0, 0.5], [1, 1, 1]));
    expect(luminanceAt(frame, inColumn(0, 2))).toBe(0);
  });

  it('the orientation is left to apply, and LibRaw has not applied it', async () => {
    const bytes = wedge([0.1, 0.5], [1, 1, 1], { orientation: 6 });
    const frame = await decodeBytes(bytes, 1e8, 6);
    expect(frame).toMatchObject({ orientation: 6, storedWidthPx: 16, storedHeightPx: 16 });
    expect(luminanceAt(frame, inColumn(0, 2))).toBeLessThan(luminanceAt(frame, inColumn(1, 2)));
    expect((await decodeBytes(bytes, 1e8, 1)).orientation).toBe(6);
  });

  it('the embedded preview comes out as it went in', async () => {
    const pixels = { create: { width: 64, height: 48, channels: 3 as const, background: '#806040' } };
    const jpeg = await sharp(pixels).jpeg().toBuffer();
    const bytes = wedge([0.1, 0.5], [1, 1, 1], { preview: { jpeg, widthPx: 64, heightPx: 48 } });
    const { embeddedPreview: preview, storedWidthPx } = await decodeBytes(bytes);
    expect(preview).toMatchObject({ widthPx: 64, heightPx: 48 });
    // LibRaw may put an Exif segment of its own after the first marker; the rest is the camera's.
    expect(preview?.jpeg.subarray(2 - jpeg.length).equals(jpeg.subarray(2))).toBe(true);
    expect(storedWidthPx).toBe(16);
    expect((await decodeBytes(wedge([0.1, 0.5], [1, 1, 1]))).embeddedPreview).toBeNull();
  });

  it('a preview that is told to be JPEG and is none is left alone: LibRaw would never end', async () => {
    const jpeg = Buffer.alloc(4096, 0x5a);
    const bytes = wedge([0.1, 0.5], [1, 1, 1], { preview: { jpeg, widthPx: 64, heightPx: 48 } });
    expect(await decodeBytes(bytes)).toMatchObject({ embeddedPreview: null, storedWidthPx: 16 });
  });

  it.each([0.05, 0.3, 0.6, 0.9, 0.999])('cut at %f of its length it is refused as truncated', async (share) => {
    const bytes = wedge(
      stops.map((stop) => 2 ** stop),
      [1, 1, 1],
    );
    const cut = bytes.subarray(0, Math.floor(bytes.length * share));
    await expect(decodeBytes(cut)).rejects.toMatchObject({ code: 'frame-truncated' });
  });

  it('a mosaic shorter than its size needs is refused although the strip lies inside the file', async () => {
    const mosaic = new Uint16Array(32 * 32).fill(4000);
    const bytes = writeDng({
      mosaic,
      widthPx: 32,
      heightPx: 64,
      blackLevel: BLACK,
      whiteLevel: WHITE,
      neutral: [1, 1, 1],
    });
    await expect(decodeBytes(bytes)).rejects.toMatchObject({ code: 'frame-truncated' });
  });

  it('more pixels than allowed are refused', async () => {
    await expect(decodeBytes(wedge([0.5, 0.5], [1, 1, 1]), 1000)).rejects.toMatchObject({
      code: 'frame-too-many-pixels',
    });
  });

  it('a white level under the black level is refused', async () => {
    const bytes = wedge([0.5, 0.5], [1, 1, 1], { blackLevel: 40_000, whiteLevel: 1000 });
    await expect(decodeBytes(bytes)).rejects.toMatchObject({ code: 'frame-corrupt' });
  });
});

const files = join(import.meta.dirname, '../../../shared/files');

describe.skipIf(!existsSync(files))('raw files made by others (skipped where ../shared is absent)', () => {
  it('a whole DNG of a colour chart decodes', async () => {
    const frame = await decodeBytes(readFileSync(join(files, 'dng/colorchart.dng')));
    assertWellFormed(frame);
    expect(frame).toMatchObject({ storedWidthPx: 867, storedHeightPx: 578, sourceBitDepth: 14 });
  });

  it.each([
    'Nikon.nef',
    'DNG.dng',
    'Panasonic.rw2',
    'Minolta.mrw',
    'CanonRaw.cr2',
    'CanonRaw.crw',
    'FujiFilm.raf',
    'PhaseOne.iiq',
    'Sigma.x3f',
  ])('%s holds metadata and a stub of pixels: refused, never measured', async (name) => {
    const decoding = decodeBytes(readFileSync(join(files, 'exiftool-t', name)));
    await expect(decoding).rejects.toMatchObject({
      code: expect.stringMatching(/^frame-(truncated|corrupt|format-unsupported)$/) as string,
    });
  });

  it.each(['Nikon.nef', 'DNG.dng', 'Panasonic.rw2', 'Minolta.mrw'])(
    '%s: LibRaw alone would not tell, we do',
    async (name) => {
      const decoding = decodeBytes(readFileSync(join(files, 'exiftool-t', name)));
      await expect(decoding).rejects.toMatchObject({ code: 'frame-truncated' });
    },
  );

  it('an RW2 whose tag for the length of the mosaic is damaged is refused, not measured as black', async () => {
    const bytes = readFileSync(join(files, 'exiftool-t/Panasonic.rw2'));
    const STRIP_BYTE_COUNTS = Buffer.from([0x17, 0x01, 0x04, 0x00]);
    bytes.fill(0x7f, bytes.indexOf(STRIP_BYTE_COUNTS), bytes.indexOf(STRIP_BYTE_COUNTS) + 2);
    await expect(decodeBytes(bytes)).rejects.toMatchObject({ code: 'frame-truncated' });
  });
});

it('too few bytes for any mosaic of the announced size are told, whatever the file claims of itself', () => {
  // A sixteenth of a bit a pixel: 10,255,896 / 128 bytes.
  expect(missingForSize(Buffer.alloc(12_344), 3724, 2754)).toMatch(/3724 x 2754 needs at least 80124 bytes/);
  expect(missingForSize(Buffer.alloc(80_124), 3724, 2754)).toBeNull();
});
