import { growMemory, kernelInstance } from '../kernel-instance.js';
import { WASM_BASE64 } from '../kernels/mosaic.wasm.js';

export type Four<T> = readonly [T, T, T, T];

/** A Bayer mosaic as the sensor left it; the four values of a cell are told apart by place: upper left, upper right, lower left, lower right. */
export interface Mosaic {
  /** Rows of `pitchPx` values. */
  data: Uint16Array;
  pitchPx: number;
  /** Where the picture begins. */
  topPx: number;
  leftPx: number;
  cellsWide: number;
  cellsHigh: number;
  /** Place of red in a cell, 0..3; blue lies across from it. */
  redAt: number;
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
  FREE: WebAssembly.Global;
}

let kernel: Kernel | null = null;

/** A vector of the kernel. */
export const LEAST_CELLS_WIDE = 4;
/** So many bytes of the mosaic go through the kernel at once: they stay in the processor's second cache. */
const BATCH_BYTES = 131_072;
const SETTINGS_BYTES = 2 * 16 + 4 * 16;

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
  if (cellsWide < LEAST_CELLS_WIDE || leftPx + 2 * cellsWide > pitchPx || lastRow * pitchPx > data.length)
    throw new RangeError(
      `${cellsWide} cells from ${leftPx} to row ${lastRow} do not lie in ${data.length} values in rows of ${pitchPx}, or are fewer than ${LEAST_CELLS_WIDE}`,
    );
  const { memory, cellRows, FREE } = (kernel ??= kernelInstance(WASM_BASE64));
  const rowsAtOnce = Math.max(1, Math.floor(BATCH_BYTES / (4 * pitchPx)));
  const settingsAt = FREE.value as number;
  const mosaicAt = settingsAt + SETTINGS_BYTES;
  const codesAt = mosaicAt + ((rowsAtOnce * 4 * pitchPx + 15) & ~15);
  growMemory(memory, codesAt + rowsAtOnce * cellsWide * 6);

  const { buffer } = memory;
  new Uint16Array(buffer, settingsAt, 16).set(
    [0, 1, 0, 1, 0, 1, 0, 1, 2, 3, 2, 3, 2, 3, 2, 3].map((at) => blacks[at]!),
  );
  new Float32Array(buffer, settingsAt + 32, 16).set(scales.flatMap((scale) => [scale, scale, scale, scale]));
  const values = new Uint16Array(buffer, mosaicAt);
  let anyZero = false;
  for (let row = 0; row < from.rows; row += rowsAtOnce) {
    const rows = Math.min(rowsAtOnce, from.rows - row);
    const start = (topPx + 2 * (from.row + row)) * pitchPx + leftPx;
    values.set(data.subarray(start, start + (2 * rows - 1) * pitchPx + 2 * cellsWide));
    const zero = cellRows(mosaicAt, pitchPx * 2, rows, cellsWide, settingsAt, settingsAt + 32, redAt, codesAt);
    anyZero ||= zero === 1;
    codes.set(new Uint16Array(buffer, codesAt, rows * cellsWide * 3), row * cellsWide * 3);
  }
  return anyZero;
}
