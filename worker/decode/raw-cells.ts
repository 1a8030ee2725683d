import type { LibRawImage, LibRawMetadata, LibRawMosaic } from 'libraw-wasm/dist/libraw.js';
import {
  codesOfCells,
  LEAST_CELLS_WIDE,
  valuesOfRows,
  type CellScale,
  type Four,
  type Mosaic,
} from './mosaic-cells.js';
import { blacksOfCells } from './mosaic-blacks.js';

/**
 * Rows of the picture that LibRaw processes itself where the rest is done from the mosaic: a quarter down a frame of 24
 * megapixels, where there is something to see. Long enough to hold most patterns of black levels that repeat.
 */
export const STRIP = { topPx: 1024, heightPx: 64 } as const;

/** LibRaw's words for "no end" and "no crop". */
const TO_THE_END = 0x7fffffff;
const NO_CROP = 0xffffffff;

/** LibRaw's setting: left, top, width, height. */
export const CROP_TO_STRIP = [0, STRIP.topPx, TO_THE_END, STRIP.heightPx] as const;
export const WHOLE_PICTURE = [0, 0, NO_CROP, NO_CROP] as const;

/** Aspects within this are pixels as square as LibRaw leaves them. */
const SQUARE = { from: 0.995, to: 1.005 } as const;

/**
 * Whether a picture can be made from its mosaic: a Bayer sensor of whole cells with an as-shot white balance, tall
 * enough to hold the strip. Of all else LibRaw makes the picture.
 *
 * @param header as read before any pixel
 */
export function isMadeOfCells(header: LibRawMetadata): boolean {
  const { widthPx, heightPx } = storedSizeOf(header);
  return (
    header.colors === 3 &&
    redPlaceOf(header.filters) !== null &&
    (header.color_data.cam_mul[0] ?? 0) > 1e-5 &&
    header.pixel_aspect >= SQUARE.from &&
    header.pixel_aspect <= SQUARE.to &&
    widthPx % 2 === 0 &&
    heightPx % 2 === 0 &&
    widthPx >= 2 * LEAST_CELLS_WIDE &&
    heightPx >= STRIP.topPx + STRIP.heightPx
  );
}

/** Half-size red, green, blue codes, as LibRaw would have made them. */
export interface CellPicture {
  data: Uint16Array;
  width: number;
  height: number;
}

/**
 * The half-size picture from the mosaic, at a fraction of what LibRaw takes for it. LibRaw's own strip says which black
 * levels it took off, and proves that the same codes come out there, bit for bit.
 *
 * @param header as read before any pixel
 * @param strip what LibRaw made of `CROP_TO_STRIP`
 * @param after metadata after it
 * @param read the mosaic; its memory is used up
 * @returns null where the strip comes out otherwise, or the mosaic holds zeros and the strip none (LibRaw may take them for
 *   dead pixels): LibRaw has to make the picture then
 */
export function pictureOfCells(
  header: LibRawMetadata,
  strip: LibRawImage | undefined,
  after: LibRawMetadata,
  read: LibRawMosaic | undefined,
): CellPicture | null {
  const grid = cellGridOf(header);
  if (grid === null || read === undefined || after.raw_pitch !== 2 * read.raw_width) return null;
  const { data, raw_width: pitchPx, raw_height: sensorHeightPx, left_margin: leftPx } = read;
  const topPx = read.top_margin - STRIP.topPx;
  const mosaic = { ...grid, data, pitchPx, topPx, leftPx };
  if (topPx < 0 || topPx + 2 * grid.cellsHigh > sensorHeightPx || leftPx + 2 * grid.cellsWide > pitchPx) return null;
  const values = valuesOfRows(mosaic, read.top_margin, STRIP.heightPx);
  const proven = provenScale(header, strip, after, { values, pitchPx, leftPx });
  if (proven === null) return null;
  const codes = data.subarray(0, grid.cellsWide * grid.cellsHigh * 3);
  const zero = codesOfCells(mosaic, proven.scale, { row: 0, rows: grid.cellsHigh }, codes);
  return zero && !proven.zeroInStrip ? null : { data: codes, width: grid.cellsWide, height: grid.cellsHigh };
}

export type CellGrid = Pick<Mosaic, 'cellsWide' | 'cellsHigh' | 'redAt'>;

/** The cells of a picture; null where it has none. */
export function cellGridOf(header: LibRawMetadata): CellGrid | null {
  const { widthPx, heightPx } = storedSizeOf(header);
  const redAt = redPlaceOf(header.filters);
  return redAt === null ? null : { cellsWide: widthPx / 2, cellsHigh: heightPx / 2, redAt };
}

/**
 * How values become codes, proven on the strip: all its codes come out as LibRaw made them.
 *
 * @param after metadata after the strip
 * @param of the strip's rows of the mosaic, and where in a row the picture begins
 * @returns null where they come out otherwise; `zeroInStrip`: any of those values is 0
 */
export function provenScale(
  header: LibRawMetadata,
  strip: LibRawImage | undefined,
  after: LibRawMetadata,
  of: { values: Uint16Array; pitchPx: number; leftPx: number },
): { scale: CellScale; zeroInStrip: boolean } | null {
  const grid = cellGridOf(header);
  const rows = STRIP.heightPx / 2;
  if (grid === null || strip?.width !== grid.cellsWide || strip.height !== rows) return null;
  if (!(strip.data instanceof Uint16Array) || strip.data.length !== grid.cellsWide * rows * 3) return null;
  const mosaic = { ...grid, data: of.values, pitchPx: of.pitchPx, topPx: 0, leftPx: of.leftPx, cellsHigh: rows };
  const { maximum, cam_mul: multipliers } = after.color_data;
  const known = { row: 0, rows, codes: strip.data };
  const scales = scalesOf(multipliers, maximum, channelsOf(header.filters));
  const blacks = blacksOfCells(mosaic, scales, known, header.color_data.maximum - maximum);
  if (blacks === null) return null;
  const scale = { blacks, scales };
  return { scale, zeroInStrip: codesOfCells(mosaic, scale, known, new Uint16Array(known.codes.length)) };
}

/** LibRaw tells the size as its flip would turn it. */
function storedSizeOf({ width, height, flip }: LibRawMetadata): { widthPx: number; heightPx: number } {
  return (flip & 4) === 0 ? { widthPx: width, heightPx: height } : { widthPx: height, heightPx: width };
}

/**
 * LibRaw's scales by place, as its build for WebAssembly rounds them (`scale_colors`, its division turned into products by
 * `-ffast-math`; found by trying every order of the arithmetic): each step is a 32-bit float.
 *
 * @param multipliers as-shot white balance: red, green, blue, the other green or 0
 * @param maximum white level less black level
 */
function scalesOf(multipliers: readonly number[], maximum: number, channels: Four<number>): Four<number> {
  const { fround } = Math;
  const [red = 0, green = 0, blue = 0, otherGreen = 0] = multipliers;
  const used = [red, green || 1, blue, otherGreen || green || 1];
  const most = fround(65_535 * fround(1 / Math.max(...used)));
  const scaleOf = (channel: number) => fround(fround(used[channel]! * most) / maximum);
  const [a, b, c, d] = channels;
  return [scaleOf(a), scaleOf(b), scaleOf(c), scaleOf(d)];
}

/** Channel of each place of a cell: 0 red, 1 green, 2 blue, 3 the other green. */
const channelsOf = (filters: number): Four<number> => [
  filters & 3,
  (filters >>> 2) & 3,
  (filters >>> 4) & 3,
  (filters >>> 6) & 3,
];

/** Place of red in a cell, 0..3; null where the mosaic is not one of 2 x 2 cells with blue across from red and green in between. */
function redPlaceOf(filters: number): number | null {
  const cell = filters & 0xff;
  if (filters >>> 0 !== Math.imul(cell, 0x01010101) >>> 0) return null;
  const places = channelsOf(cell);
  const redAt = places.indexOf(0);
  const isBayer = places[redAt ^ 3] === 2 && places[redAt ^ 1]! % 2 === 1 && places[redAt ^ 2]! % 2 === 1;
  return redAt >= 0 && isBayer ? redAt : null;
}
