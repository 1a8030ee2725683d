import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../samples/make/random.js';
import { codesOfCells, type CellScale, type Mosaic } from '../../worker/decode/mosaic-cells.js';
import { WASM_BASE64 } from '../../worker/kernels/mosaic.wasm.js';
import { compileKernel, KERNELS } from '../support/compile-kernel.js';

const random = seededRandom('mosaic');
const PITCH_PX = 30;

/** Values from none to the most that 16 bits hold, every level alike often; lowered by an eighth where there is to be no 0. */
function mosaic(cellsWide: number, redAt: number, rows = 60): Mosaic {
  const data = Uint16Array.from({ length: PITCH_PX * rows }, () => 1 + Math.floor(65_535 * random.uniform() ** 3));
  return { data, pitchPx: PITCH_PX, topPx: 3, leftPx: 2, cellsWide, cellsHigh: (rows - 4) / 2, redAt };
}

/** The same, value by value. Math.fround is the 32-bit float of the kernel. */
function plainly(of: Mosaic, { blacks, scales }: CellScale): Uint16Array {
  const codes = new Uint16Array(of.cellsWide * of.cellsHigh * 3);
  for (let y = 0, to = 0; y < of.cellsHigh; y++) {
    for (let x = 0; x < of.cellsWide; x++, to += 3) {
      const code = (place: number) => {
        const value = of.data[(of.topPx + 2 * y + (place >> 1)) * of.pitchPx + of.leftPx + 2 * x + (place & 1)]!;
        return Math.min(
          65_535,
          Math.floor(Math.fround(Math.max(0, value - blacks[place]!) * Math.fround(scales[place]!))),
        );
      };
      codes[to] = code(of.redAt);
      codes[to + 1] = (code(of.redAt ^ 1) + code(of.redAt ^ 2)) >> 1;
      codes[to + 2] = code(of.redAt ^ 3);
    }
  }
  return codes;
}

const scale: CellScale = { blacks: [510, 512, 0, 515], scales: [4.1293, 2.0646, 2.0646, 1 / 3] };

describe('cells of a mosaic in WebAssembly', () => {
  it('are what their source compiles to', () => {
    expect(Buffer.from(compileKernel(KERNELS[2].source)).toString('base64')).toBe(WASM_BASE64);
  });

  it.each([0, 1, 2, 3])('come out as a plain loop makes them, red at %i, at every width of a row', (redAt) => {
    for (const cellsWide of [4, 5, 6, 7, 8, 11, 14]) {
      const cells = mosaic(cellsWide, redAt);
      const codes = new Uint16Array(cells.cellsWide * cells.cellsHigh * 3);
      codesOfCells(cells, scale, { row: 0, rows: cells.cellsHigh }, codes);
      expect(codes).toEqual(plainly(cells, scale));
    }
  });

  it('come out the same in the memory of the mosaic, of more rows than are done at once', () => {
    const cells = mosaic(14, 1, 4004);
    const expected = plainly(cells, scale);
    const codes = cells.data.subarray(0, expected.length);
    codesOfCells(cells, scale, { row: 0, rows: cells.cellsHigh }, codes);
    expect(Buffer.compare(Buffer.from(codes.buffer, 0, codes.byteLength), Buffer.from(expected.buffer))).toBe(0);
  });

  it('some rows alone are those rows of all', () => {
    const cells = mosaic(9, 2);
    const codes = new Uint16Array(9 * 4 * 3);
    codesOfCells(cells, scale, { row: 11, rows: 4 }, codes);
    expect(codes).toEqual(plainly(cells, scale).subarray(9 * 11 * 3, 9 * 15 * 3));
  });

  it('a value of 0 is told, wherever in a row; one beside the picture is not', () => {
    for (let x = 0; x < PITCH_PX; x++) {
      const cells = mosaic(11, 0);
      cells.data[41 * PITCH_PX + x] = 0;
      const codes = new Uint16Array(cells.cellsWide * cells.cellsHigh * 3);
      const told = codesOfCells(cells, scale, { row: 0, rows: cells.cellsHigh }, codes);
      expect(told, `column ${x}`).toBe(x >= 2 && x < 24);
    }
  });

  it.each([
    ['narrower than a vector', { cellsWide: 3 }],
    ['wider than the mosaic', { cellsWide: 15 }],
    ['beyond the last row', { topPx: 5 }],
  ])('%s: refused', (_, change) => {
    const cells = { ...mosaic(14, 0), ...change };
    const codes = new Uint16Array(cells.cellsWide * cells.cellsHigh * 3);
    expect(() => codesOfCells(cells, scale, { row: 0, rows: cells.cellsHigh }, codes)).toThrow(RangeError);
  });
});
