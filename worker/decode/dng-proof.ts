import { TAG, type DngMosaic } from './dng-mosaic.js';
import { readLosslessHeader } from './lossless-jpeg.js';

/** Bytes after the mosaic that hold nothing: padding. */
const MOST_PADDING_BYTES = 16;
const TYPE = { short: 3, long: 4 } as const;

/**
 * A DNG of the same words with another mosaic. What lies before the mosaic stays where it is, so that every offset still
 * points to what it did; so does what follows it, if anything does.
 *
 * @param mosaicBytes the new mosaic, one strip or tile
 * @param changes values of the mosaic's directory, by tag; of tags that it does not have nothing is written
 */
function withMosaic(
  bytes: Buffer,
  { directory, tiles, littleEndian }: DngMosaic,
  mosaicBytes: Uint8Array,
  changes: ReadonlyMap<number, { as?: number; values: readonly number[] }>,
): Buffer {
  const start = Math.min(...tiles.map(({ offset }) => offset));
  const end = Math.max(...tiles.map(({ offset, lengthBytes }) => offset + lengthBytes));
  const kept = end + MOST_PADDING_BYTES >= bytes.length ? start : bytes.length;
  const mosaicOffset = (kept + 1) & ~1;
  const valuesOffset = (mosaicOffset + mosaicBytes.length + 1) & ~1;
  const made = Buffer.alloc(valuesOffset + 4 * 4);
  bytes.copy(made, 0, 0, kept);
  made.set(mosaicBytes, mosaicOffset);
  const u16 = (value: number, at: number) =>
    littleEndian ? made.writeUInt16LE(value, at) : made.writeUInt16BE(value, at);
  const u32 = (value: number, at: number) =>
    littleEndian ? made.writeUInt32LE(value, at) : made.writeUInt32BE(value, at);
  const write = (tag: number, { as = tag, values }: { as?: number; values: readonly number[] }): void => {
    const entry = directory.entries.get(tag);
    if (entry === undefined) return;
    const at = entry.entryOffset;
    u16(as, at);
    u16(TYPE.long, at + 2);
    u32(values.length, at + 4);
    const valueAt = values.length > 1 ? valuesOffset : at + 8;
    if (values.length > 1) u32(valuesOffset, at + 8);
    values.forEach((value, i) => u32(value, valueAt + 4 * i));
  };
  for (const [tag, change] of changes) write(tag, change);
  for (const tag of [TAG.stripOffsets, TAG.tileOffsets])
    write(tag, { as: changes.get(tag)?.as ?? tag, values: [mosaicOffset] });
  for (const tag of [TAG.stripByteCounts, TAG.tileByteCounts])
    write(tag, { as: changes.get(tag)?.as ?? tag, values: [mosaicBytes.length] });
  return made;
}

/** Rows of masked edge that LibRaw needs above those of the picture: it ends odd edges a row later, which turns the pattern of colours. */
export const edgeRowsOf = ({ activeArea }: DngMosaic): number => ((activeArea?.[0] ?? 0) % 2 === 1 ? 2 : 0);

/**
 * The whole file, but of its mosaic only some rows, uncompressed, and the picture across all of them.
 *
 * @param rows of the picture
 * @param rowBytes those of the edge, then those of the picture
 */
export function dngOfRows(bytes: Buffer, mosaic: DngMosaic, rows: number, rowBytes: Uint8Array): Buffer {
  const { activeArea, widthPx, isLosslessJpeg } = mosaic;
  const [, left, , right] = activeArea ?? [0, 0, 0, widthPx];
  const edgeRows = edgeRowsOf(mosaic);
  const allRows = edgeRows + rows;
  const changes = new Map<number, { as?: number; values: number[] }>([
    [TAG.imageLength, { values: [allRows] }],
    [TAG.rowsPerStrip, { values: [allRows] }],
    [TAG.activeArea, { values: [edgeRows / 2, left, allRows, right] }],
  ]);
  if (isLosslessJpeg) {
    changes.set(TAG.compression, { values: [1] }).set(TAG.bitsPerSample, { values: [16] });
    if (mosaic.isTiled) {
      changes.set(TAG.tileOffsets, { as: TAG.stripOffsets, values: [] });
      changes.set(TAG.tileByteCounts, { as: TAG.stripByteCounts, values: [] });
      changes.set(TAG.tileWidth, { as: TAG.rowsPerStrip, values: [allRows] });
      changes.set(TAG.tileLength, { as: TAG.rowsPerStrip, values: [allRows] });
    }
  }
  return withMosaic(bytes, mosaic, rowBytes, changes);
}

/**
 * The whole file, but of its mosaic only the upper rows of the first lossless JPEG, its codes as they are.
 *
 * @returns null where that is none
 */
export function dngOfFirstTile(bytes: Buffer, mosaic: DngMosaic, rows: number): Buffer | null {
  const { tiles, tileWidthPx } = mosaic;
  const { offset, lengthBytes } = tiles[0]!;
  const jpeg = bytes.subarray(offset, offset + lengthBytes);
  const header = readLosslessHeader(jpeg);
  if (header === null) return null;
  // 32 bits for each value, and a 0 after each byte.
  const cut = Buffer.from(jpeg.subarray(0, header.codesOffset + rows * tileWidthPx * 8));
  cut.writeUInt16BE(rows, header.rowsOffset);
  return withMosaic(
    bytes,
    mosaic,
    cut,
    new Map([
      [TAG.imageWidth, { values: [tileWidthPx] }],
      [TAG.imageLength, { values: [rows] }],
      [TAG.rowsPerStrip, { values: [rows] }],
      [TAG.tileLength, { values: [rows] }],
      [TAG.activeArea, { values: [0, 0, rows, tileWidthPx] }],
    ]),
  );
}
