import type { LibRawMetadata } from 'libraw-wasm/dist/libraw.js';
import { decodeTiles, dngMosaicOf, storedRowsOf, type DngMosaic } from './dng-mosaic.js';
import { dngOfFirstTile, dngOfRows, edgeRowsOf } from './dng-proof.js';
import type { Beside } from './libraw-module.js';
import { SETTINGS } from './libraw-settings.js';
import { codesOfCells, valuesOfRows, type CellScale } from './mosaic-cells.js';
import { cellGridOf, provenScale, STRIP, WHOLE_PICTURE, type CellGrid, type CellPicture } from './raw-cells.js';

/** A picture, and what LibRaw told after its part of it. */
export interface DngPicture {
  picture: CellPicture;
  after: LibRawMetadata;
}

/**
 * The half-size picture of a DNG whose mosaic is read here. LibRaw reads and processes 64 rows of it, as a DNG of the same words,
 * and they have to come out bit for bit; of lossless JPEGs it also decodes the first rows of the first one.
 *
 * @param header what LibRaw told of the whole file
 * @param beside a second LibRaw, for what is made of the file
 * @returns null where LibRaw has to read the mosaic itself: it is of another kind, damaged, or anything comes out otherwise
 */
export function pictureOfDng(bytes: Buffer, header: LibRawMetadata, beside: Beside): DngPicture | null {
  const size = { widthPx: header.raw_width, heightPx: header.raw_height };
  const mosaic = dngMosaicOf(bytes, size, header.dng_version);
  const grid = cellGridOf(header);
  const [topPx, leftPx] = [header.top_margin, header.left_margin];
  if (mosaic === null || grid === null || topPx % 2 === 1) return null;
  if (topPx + 2 * grid.cellsHigh > size.heightPx || leftPx + 2 * grid.cellsWide > size.widthPx) return null;
  const dng: Dng = { bytes, header, mosaic, grid, topPx, leftPx, beside };
  return mosaic.isLosslessJpeg ? pictureOfTiles(dng) : pictureOfStored(dng);
}

interface Dng {
  bytes: Buffer;
  header: LibRawMetadata;
  mosaic: DngMosaic;
  grid: CellGrid;
  /** Where on the sensor the picture begins. */
  topPx: number;
  leftPx: number;
  beside: Beside;
}

const lengthOf = ({ cellsWide, cellsHigh }: CellGrid): number => 3 * cellsWide * cellsHigh;

function pictureOfStored(dng: Dng): DngPicture | null {
  const { bytes, mosaic, grid, topPx, leftPx } = dng;
  const data = storedRowsOf(bytes, mosaic);
  const pitchPx = mosaic.widthPx;
  const edgeRows = edgeRowsOf(mosaic);
  const first = topPx + STRIP.topPx - edgeRows;
  const values = valuesOfRows({ data, pitchPx }, first, edgeRows + STRIP.heightPx);
  const rowBytes = data.bytes.subarray(first * data.pitchBytes, (first + edgeRows + STRIP.heightPx) * data.pitchBytes);
  const proven = provenOnRows(dng, values, rowBytes);
  if (proven === null) return null;
  const codes = new Uint16Array(lengthOf(grid));
  const cells = { ...grid, data, pitchPx, topPx, leftPx };
  const zero = codesOfCells(cells, proven.scale, { row: 0, rows: grid.cellsHigh }, codes);
  return pictureIn(codes, zero, proven, grid);
}

/** Rows up to the strip's end are kept until it has proven how values become codes; later ones become codes as they come. */
function pictureOfTiles(dng: Dng): DngPicture | null {
  const { bytes, mosaic, grid, topPx, leftPx } = dng;
  const { widthPx } = mosaic;
  const edgeRows = edgeRowsOf(mosaic);
  const upperRows = topPx + STRIP.topPx + STRIP.heightPx;
  const upper = keptValues(upperRows * widthPx);
  const codes = new Uint16Array(lengthOf(grid));
  let proven: Proven | null = null;
  let anyZero = false;
  const convert = ({ scale }: Proven, data: Uint16Array, row: number): void => {
    const from = Math.max(row, topPx);
    const to = Math.min(row + data.length / widthPx, topPx + 2 * grid.cellsHigh);
    if (from >= to) return;
    const cells = { ...grid, data, pitchPx: widthPx, topPx: from - row, leftPx };
    const codesFrom = ((from - topPx) / 2) * grid.cellsWide * 3;
    const zero = codesOfCells(cells, scale, { row: 0, rows: (to - from) / 2 }, codes.subarray(codesFrom));
    anyZero ||= zero;
  };
  const isDecoded = decodeTiles(bytes, mosaic, (values, row) => {
    if (proven !== null) {
      convert(proven, values, row);
      return true;
    }
    const rowsLeft = upperRows - row;
    const ofUpper = values.subarray(0, rowsLeft * widthPx);
    upper.set(ofUpper, row * widthPx);
    if (ofUpper.length < rowsLeft * widthPx) return true;
    if (!isDecodedAlike(dng, upper)) return false;
    const strip = upper.subarray((upperRows - STRIP.heightPx - edgeRows) * widthPx);
    proven = provenOnRows(dng, strip, inByteOrder(strip, mosaic.littleEndian));
    if (proven === null) return false;
    convert(proven, upper, 0);
    convert(proven, values.subarray(ofUpper.length), upperRows);
    return true;
  });
  return isDecoded && proven !== null ? pictureIn(codes, anyZero, proven, grid) : null;
}

interface Proven {
  scale: CellScale;
  zeroInStrip: boolean;
  after: LibRawMetadata;
}

/**
 * How values become codes, as LibRaw processes the strip.
 *
 * @param values the strip's rows, those of an edge above them first
 * @param rowBytes the same as a file holds them
 */
function provenOnRows(
  { bytes, header, mosaic, leftPx, beside }: Dng,
  values: Uint16Array,
  rowBytes: Uint8Array,
): Proven | null {
  const made = beside('LibRaw does not read rows of this DNG', (libraw) => {
    libraw.open(dngOfRows(bytes, mosaic, STRIP.heightPx, rowBytes), { ...SETTINGS, cropbox: WHOLE_PICTURE });
    return { before: libraw.metadata(true), strip: libraw.imageData(), after: libraw.metadata(true) };
  });
  if (made === null || wordsOf(made.before) !== wordsOf(header)) return null;
  const pitchPx = mosaic.widthPx;
  const ofStrip = { values: values.subarray(-STRIP.heightPx * pitchPx), pitchPx, leftPx };
  const proven = provenScale(header, made.strip, made.after, ofStrip);
  return proven === null ? null : { ...proven, after: made.after };
}

/** A value of 0 that the strip has none of may mean a dead pixel to LibRaw. */
function pictureIn(
  data: Uint16Array,
  anyZero: boolean,
  { zeroInStrip, after }: Proven,
  { cellsWide: width, cellsHigh: height }: CellGrid,
): DngPicture | null {
  return anyZero && !zeroInStrip ? null : { picture: { data, width, height }, after };
}

/** Whether LibRaw decodes the first rows of the first lossless JPEG as they were decoded here. */
function isDecodedAlike({ bytes, mosaic, beside }: Dng, values: Uint16Array): boolean {
  const { tileWidthPx, tileHeightPx, widthPx } = mosaic;
  const rows = Math.min(STRIP.heightPx, tileHeightPx);
  const ofTile = dngOfFirstTile(bytes, mosaic, rows);
  if (ofTile === null) return false;
  const read = beside('LibRaw does not read a tile of this DNG', (libraw) => {
    libraw.open(ofTile, { ...SETTINGS, cropbox: WHOLE_PICTURE });
    return libraw.rawImageData();
  });
  if (read?.raw_width !== tileWidthPx || read.raw_height !== rows) return false;
  for (let row = 0; row < rows; row++)
    for (let x = 0; x < tileWidthPx; x++)
      if (read.data[row * tileWidthPx + x] !== values[row * widthPx + x]) return false;
  return true;
}

function inByteOrder(values: Uint16Array, littleEndian: boolean): Uint8Array {
  const bytes = new Uint8Array(values.buffer, values.byteOffset, values.byteLength);
  return littleEndian ? bytes : Buffer.from(bytes).swap16();
}

let kept = new Uint16Array(0);

/** Values for the length of one call: what they hold is left from the last one. Fresh memory costs more than what is put there. */
function keptValues(length: number): Uint16Array {
  if (kept.length < length || kept.length > 4 * length) kept = new Uint16Array(length);
  return kept.subarray(0, length);
}

/** Of what LibRaw tells, what the number of rows and their coding change; the size also where it would be turned. */
const CHANGED = ['width', 'height', 'iwidth', 'iheight', 'raw_height', 'top_margin', 'raw_inset_crops'];
const CHANGED_OF_COLOUR = ['default_crop', 'raw_bps'];
const changed = new Set([...CHANGED, ...CHANGED_OF_COLOUR]);

/** All else: camera, levels, white balance, matrices, pattern of colours, exposure. */
const wordsOf = (header: LibRawMetadata): string =>
  JSON.stringify(header, (key, value: unknown) => (changed.has(key) ? undefined : value));
