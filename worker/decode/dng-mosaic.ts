import { TiffStructure, tiffImageDirectories, type TiffDirectory } from '../read/tiff-directory.js';
import { decodeLosslessJpeg, readLosslessHeader } from './lossless-jpeg.js';
import type { StoredRows } from './mosaic-cells.js';

/** Tags of TIFF 6.0, TIFF/EP (ISO 12234-2) and DNG 1.4, from memory. */
export const TAG = {
  imageWidth: 256,
  imageLength: 257,
  bitsPerSample: 258,
  compression: 259,
  photometric: 262,
  fillOrder: 266,
  stripOffsets: 273,
  samplesPerPixel: 277,
  rowsPerStrip: 278,
  stripByteCounts: 279,
  predictor: 317,
  tileWidth: 322,
  tileLength: 323,
  tileOffsets: 324,
  tileByteCounts: 325,
  sampleFormat: 339,
  linearizationTable: 50_712,
  blackLevelRepeatDim: 50_713,
  activeArea: 50_829,
  maskedAreas: 50_830,
} as const;

const CFA_PHOTOMETRIC = 32_803;
const UNCOMPRESSED = 1;
const LOSSLESS_JPEG = 7;
/** A first DNG says otherwise what a difference of 16 bits is (DNG 1.1 changed it; from memory). */
const DNG_1_1 = 0x0101_0000;

/** Where and how a DNG keeps its mosaic. */
export interface DngMosaic {
  directory: TiffDirectory;
  littleEndian: boolean;
  /** The sensor, masked edges included. */
  widthPx: number;
  heightPx: number;
  bits: number;
  /** Top, left, bottom, right of the picture; null where the file says none. */
  activeArea: readonly [number, number, number, number] | null;
  isLosslessJpeg: boolean;
  isTiled: boolean;
  tileWidthPx: number;
  tileHeightPx: number;
  /** Tiles row by row; a strip is one tile; uncompressed rows that follow each other are one. */
  tiles: { offset: number; lengthBytes: number }[];
}

/**
 * The layout of a DNG's mosaic, where it is one that can be read here as LibRaw reads it: one mosaic, uncompressed in 10, 12,
 * 14 or 16 bits, or of lossless JPEGs.
 *
 * @param bytes a DNG
 * @param sizePx of the sensor, as LibRaw told it
 * @param dngVersion as LibRaw told it: a byte a part
 * @returns null for all else: tables that values go through, black levels read from masked edges or over more than one cell,
 *   directories that are not whole
 */
export function dngMosaicOf(
  bytes: Buffer,
  sizePx: { widthPx: number; heightPx: number },
  dngVersion: number,
): DngMosaic | null {
  const tiff = TiffStructure.open(bytes);
  if (tiff === null || dngVersion < DNG_1_1) return null;
  const mosaics = tiffImageDirectories(tiff).filter(
    ({ entries }) => tiff.integers(entries.get(TAG.photometric))[0] === CFA_PHOTOMETRIC,
  );
  const [directory] = mosaics;
  if (directory === undefined || mosaics.length > 1 || directory.entries.size !== directory.declared) return null;
  const all = (tag: number): number[] => tiff.integers(directory.entries.get(tag));
  const one = (tag: number, otherwise: number): number => all(tag)[0] ?? otherwise;
  const has = (tag: number): boolean => directory.entries.has(tag);
  const isPlain =
    !has(TAG.linearizationTable) &&
    !has(TAG.maskedAreas) &&
    all(TAG.blackLevelRepeatDim).every((span) => span >= 1 && span <= 2) &&
    all(TAG.bitsPerSample).length === 1 &&
    [TAG.samplesPerPixel, TAG.fillOrder, TAG.predictor, TAG.sampleFormat].every((tag) => one(tag, 1) === 1);
  const [widthPx, heightPx] = [one(TAG.imageWidth, 0), one(TAG.imageLength, 0)];
  if (!isPlain || widthPx !== sizePx.widthPx || heightPx !== sizePx.heightPx) return null;
  const area = all(TAG.activeArea);
  if (has(TAG.activeArea) && area.length !== 4) return null;

  const compression = one(TAG.compression, 0);
  const isTiled = [TAG.tileWidth, TAG.tileLength, TAG.tileOffsets, TAG.tileByteCounts].every(has);
  if (isTiled === has(TAG.stripOffsets) || isTiled === has(TAG.stripByteCounts)) return null;
  const offsets = all(isTiled ? TAG.tileOffsets : TAG.stripOffsets);
  const lengths = all(isTiled ? TAG.tileByteCounts : TAG.stripByteCounts);
  if (offsets.length === 0 || offsets.length !== lengths.length) return null;
  const extents = offsets.map((offset, i) => ({ offset, lengthBytes: lengths[i]! }));
  if (!extents.every(({ offset, lengthBytes }) => offset >= 8 && offset + lengthBytes <= bytes.length)) return null;
  const found = {
    directory,
    littleEndian: bytes[0] === 0x49,
    widthPx,
    heightPx,
    bits: one(TAG.bitsPerSample, 0),
    activeArea: area.length === 4 ? ([area[0]!, area[1]!, area[2]!, area[3]!] as const) : null,
    isTiled,
  };
  if (compression === UNCOMPRESSED) {
    // LibRaw reads on from the first strip, whatever the offsets of the others.
    const isOne = extents.every(({ offset }, i) => i === 0 || offset === endOf(extents[i - 1]!));
    const [first, last] = [extents[0]!, extents.at(-1)!];
    const tile = { offset: first.offset, lengthBytes: endOf(last) - first.offset };
    const isThere = tile.lengthBytes >= heightPx * pitchBytesOf(widthPx, found.bits);
    if (isTiled || !isOne || !isThere || ![10, 12, 14, 16].includes(found.bits)) return null;
    return { ...found, isLosslessJpeg: false, tileWidthPx: widthPx, tileHeightPx: heightPx, tiles: [tile] };
  }
  if (compression !== LOSSLESS_JPEG) return null;
  const tileWidthPx = isTiled ? one(TAG.tileWidth, 0) : widthPx;
  const tileHeightPx = isTiled ? one(TAG.tileLength, 0) : heightPx;
  if (tileWidthPx < 1 || tileWidthPx > widthPx || tileHeightPx < 1) return null;
  if (isTiled && tileHeightPx % 2 === 1) return null;
  if (extents.length !== Math.ceil(widthPx / tileWidthPx) * Math.ceil(heightPx / tileHeightPx)) return null;
  return { ...found, isLosslessJpeg: true, tileWidthPx, tileHeightPx, tiles: extents };
}

const endOf = ({ offset, lengthBytes }: { offset: number; lengthBytes: number }): number => offset + lengthBytes;

/** Packed rows begin on a byte. */
const pitchBytesOf = (widthPx: number, bits: number): number => Math.ceil((widthPx * bits) / 8);

/** Rows of an uncompressed mosaic, as they lie in the file. */
export function storedRowsOf(bytes: Buffer, { tiles, widthPx, heightPx, bits, littleEndian }: DngMosaic): StoredRows {
  const pitchBytes = pitchBytesOf(widthPx, bits);
  const { offset } = tiles[0]!;
  // Of fewer than 16 bits the highest bit comes first in either byte order, and so it does of 16 in the one.
  const isLowFirst = bits === 16 && littleEndian;
  return { bytes: bytes.subarray(offset, offset + heightPx * pitchBytes), pitchBytes, bits, isLowFirst };
}

/**
 * Decodes the lossless JPEGs of a mosaic.
 *
 * @param take gets rows as they come, from the uppermost on: rows x widthPx values that are overwritten afterwards, and which row
 *   is first, an even one; it says whether to go on
 * @returns false where it said no, or a tile is no such JPEG, is of another size than the file says, is damaged or ends early,
 *   or is of a kind of which LibRaw takes rows twice
 */
export function decodeTiles(
  bytes: Buffer,
  mosaic: DngMosaic,
  take: (values: Uint16Array, row: number) => boolean,
): boolean {
  const { widthPx, heightPx, tileWidthPx, tileHeightPx, tiles } = mosaic;
  const across = Math.ceil(widthPx / tileWidthPx);
  const band = across === 1 ? null : new Uint16Array(widthPx * Math.min(tileHeightPx, heightPx));
  for (const [i, { offset, lengthBytes }] of tiles.entries()) {
    const [left, top] = [(i % across) * tileWidthPx, Math.floor(i / across) * tileHeightPx];
    const columns = Math.min(tileWidthPx, widthPx - left);
    const rows = Math.min(tileHeightPx, heightPx - top);
    const jpeg = bytes.subarray(offset, offset + lengthBytes);
    const header = readLosslessHeader(jpeg);
    if (header === null || header.columns * header.components !== tileWidthPx || header.rows !== tileHeightPx)
      return false;
    if (header.components > 1 && header.components * tileWidthPx === widthPx) return false;
    const isDecoded = decodeLosslessJpeg(jpeg, header, rows, (values, row) => {
      if (band === null) return take(values, top + row);
      for (let from = 0, to = row * widthPx + left; from < values.length; from += tileWidthPx, to += widthPx)
        band.set(values.subarray(from, from + columns), to);
      return true;
    });
    if (!isDecoded) return false;
    if (band !== null && left + columns === widthPx && !take(band.subarray(0, rows * widthPx), top)) return false;
  }
  return true;
}
