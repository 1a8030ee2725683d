import { growMemory, kernelInstance } from '../kernel-instance.js';
import { WASM_BASE64 } from '../kernels/mosaic.wasm.js';

export type Four<T> = readonly [T, T, T, T];

/** A Bayer mosaic as the sensor left it; the four values of a cell are told apart by place: upper left, upper right, lower left, lower right. */
export interface Mosaic {
  /** Rows of `pitchPx` values. */
  data: Uint16Array | StoredRows;
  pitchPx: number;
  /** Where the picture begins. */
  topPx: number;
  leftPx: number;
  cellsWide: number;
  cellsHigh: number;
  /** Place of red in a cell, 0..3; blue lies across from it. */
  redAt: number;
}

/** Rows of values as a file holds them, each of which begins on a byte. */
export interface StoredRows {
  bytes: Uint8Array;
  pitchBytes: number;
  /** Of a value, 9 to 16: the highest first, and of 16 either. */
  bits: number;
  /** Of 16 bits the lower eight come first. */
  isLowFirst: boolean;
}

/** How a value becomes a code: less its black, at least 0; times its scale as a 32-bit float; rounded down; at most 65535. */
export interface CellScale {
  /** By place. Whole values, 0..65535. */
  blacks: Four<number>;
  scales: Four<number>;
}

interface Kernel {
  memory: WebAssembly.Memory;
  cellRows: (...args: number[]) => number;
  unpackRows: (...args: number[]) => void;
  FREE: WebAssembly.Global;
}

let kernel: Kernel | null = null;

/** A vector of the kernel. */
export const LEAST_CELLS_WIDE = 4;
/** So many bytes of the mosaic go through the kernel at once: they stay in the processor's second cache. */
const BATCH_BYTES = 131_072;
const SETTINGS_BYTES = 2 * 16 + 4 * 16 + 4 * 16;
/** The kernel unpacks 8 values at once, whatever of them there are. */
const SLACK_BYTES = 32;

/**
 * Cells to red, green, blue (green: the mean of both, rounded down), in WebAssembly SIMD (worker/kernels/mosaic.ts).
 *
 * @param from first row of cells and how many
 * @param codes cellsHigh x cellsWide x 3 of those rows; may be the mosaic's own memory where it begins at its start, since
 *   no row of codes is as long as the rows that it was made of
 * @returns whether any value was 0
 * @throws RangeError where the mosaic is narrower than a vector, or does not hold all those cells
 */
export function codesOfCells(
  { data, pitchPx, topPx, leftPx, cellsWide, redAt }: Mosaic,
  { blacks, scales }: CellScale,
  from: { row: number; rows: number },
  codes: Uint16Array,
): boolean {
  const lastRow = topPx + 2 * (from.row + from.rows);
  const rowsHeld = 'bytes' in data ? data.bytes.length / data.pitchBytes : data.length / pitchPx;
  if (cellsWide < LEAST_CELLS_WIDE || leftPx + 2 * cellsWide > pitchPx || lastRow > rowsHeld)
    throw new RangeError(
      `${cellsWide} cells from ${leftPx} to row ${lastRow} do not lie in ${rowsHeld} rows of ${pitchPx} values, or are fewer than ${LEAST_CELLS_WIDE}`,
    );
  const rowsAtOnce = Math.max(1, Math.floor(BATCH_BYTES / (4 * pitchPx)));
  const { buffer, settingsAt, valuesAt, packedAt, codesAt } = laidOut(rowsAtOnce, pitchPx, cellsWide);
  const { cellRows } = kernel!;
  new Uint16Array(buffer, settingsAt, 16).set(
    [0, 1, 0, 1, 0, 1, 0, 1, 2, 3, 2, 3, 2, 3, 2, 3].map((at) => blacks[at]!),
  );
  new Float32Array(buffer, settingsAt + 32, 16).set(scales.flatMap((scale) => [scale, scale, scale, scale]));
  let anyZero = false;
  for (let row = 0; row < from.rows; row += rowsAtOnce) {
    const rows = Math.min(rowsAtOnce, from.rows - row);
    const first = topPx + 2 * (from.row + row);
    bringRows(data, pitchPx, first, 2 * rows, valuesAt, packedAt);
    const mosaicAt = valuesAt + 2 * leftPx;
    const zero = cellRows(mosaicAt, pitchPx * 2, rows, cellsWide, settingsAt, settingsAt + 32, redAt, codesAt);
    anyZero ||= zero === 1;
    codes.set(new Uint16Array(buffer, codesAt, rows * cellsWide * 3), row * cellsWide * 3);
  }
  return anyZero;
}

/**
 * Rows of a mosaic as values.
 *
 * @returns rows x pitchPx
 */
export function valuesOfRows(
  { data, pitchPx }: Pick<Mosaic, 'data' | 'pitchPx'>,
  row: number,
  rows: number,
): Uint16Array {
  if (!('bytes' in data)) return data.subarray(row * pitchPx, (row + rows) * pitchPx);
  const values = new Uint16Array(rows * pitchPx);
  const rowsAtOnce = Math.max(1, Math.floor(BATCH_BYTES / (4 * pitchPx)));
  const { buffer, valuesAt, packedAt } = laidOut(rowsAtOnce, pitchPx, LEAST_CELLS_WIDE);
  for (let done = 0; done < rows; done += rowsAtOnce) {
    const now = Math.min(rowsAtOnce, rows - done);
    bringRows(data, pitchPx, row + done, now, valuesAt, packedAt);
    values.set(new Uint16Array(buffer, valuesAt, now * pitchPx), done * pitchPx);
  }
  return values;
}

/** The kernel's memory for so many rows of cells: settings, values, the same as a file holds them, codes. */
function laidOut(rowsOfCells: number, pitchPx: number, cellsWide: number) {
  const { memory, FREE } = (kernel ??= kernelInstance(WASM_BASE64));
  const settingsAt = FREE.value as number;
  const valuesAt = settingsAt + SETTINGS_BYTES;
  const rowsBytes = (rowsOfCells * 4 * pitchPx + SLACK_BYTES + 15) & ~15;
  const packedAt = valuesAt + rowsBytes;
  const codesAt = packedAt + rowsBytes;
  growMemory(memory, codesAt + rowsOfCells * cellsWide * 6);
  return { buffer: memory.buffer, settingsAt, valuesAt, packedAt, codesAt };
}

/** Puts rows of values into the kernel's memory. */
function bringRows(
  data: Uint16Array | StoredRows,
  pitchPx: number,
  row: number,
  rows: number,
  valuesAt: number,
  packedAt: number,
): void {
  const { memory, unpackRows } = kernel!;
  const { buffer } = memory;
  if (!('bytes' in data)) {
    new Uint16Array(buffer, valuesAt).set(data.subarray(row * pitchPx, (row + rows) * pitchPx));
    return;
  }
  const { bytes, pitchBytes, bits, isLowFirst } = data;
  const stored = bytes.subarray(row * pitchBytes, (row + rows) * pitchBytes);
  new Uint8Array(buffer, isLowFirst ? valuesAt : packedAt).set(stored);
  if (isLowFirst) return;
  const placesAt = valuesAt - 64;
  new Uint8Array(buffer, placesAt, 32).set(
    EIGHT.flatMap((i) => [255, ...THREE.map((part) => ((i * bits) >> 3) + 2 - part)]),
  );
  new Uint32Array(buffer, placesAt + 32, 8).set(EIGHT.map((i) => 1 << ((i * bits) & 7)));
  unpackRows(packedAt, pitchBytes, rows, pitchPx, bits, placesAt, valuesAt);
}

/** Of eight values that lie packed, and the three bytes that hold one. */
const EIGHT = [0, 1, 2, 3, 4, 5, 6, 7];
const THREE = [0, 1, 2];
