import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../samples/make/random.js';
import {
  codesOfCells,
  valuesOfRows,
  type CellScale,
  type Mosaic as AnyMosaic,
} from '../../worker/decode/mosaic-cells.js';
import { WASM_BASE64 } from '../../worker/kernels/mosaic.wasm.js';
import { compileKernel, KERNELS } from '../support/compile-kernel.js';

type Mosaic = AnyMosaic & { data: Uint16Array };

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

  it.each([9, 10, 11, 12, 13, 14, 15, 16])(
    'rows of a file, %i bits packed, are the values that were packed',
    (bits) => {
      for (const pitchPx of [8, 9, 15, 17, 30]) {
        const rows = 12;
        const values = Uint16Array.from({ length: pitchPx * rows }, () => Math.floor(2 ** bits * random.uniform()));
        const pitchBytes = Math.ceil((pitchPx * bits) / 8);
        const bytes = new Uint8Array(rows * pitchBytes);
        values.forEach((value, i) => {
          for (let bit = 0; bit < bits; bit++) {
            const at = (i % pitchPx) * bits + bit;
            const isSet = (value >> (bits - 1 - bit)) & 1;
            bytes[Math.floor(i / pitchPx) * pitchBytes + (at >> 3)]! |= isSet << (7 - (at & 7));
          }
        });
        const data = { bytes, pitchBytes, bits, isLowFirst: false };
        expect(valuesOfRows({ data, pitchPx }, 0, rows)).toEqual(values);
        expect(valuesOfRows({ data, pitchPx }, 5, 4)).toEqual(values.subarray(5 * pitchPx, 9 * pitchPx));
        const cells = { data, pitchPx, topPx: 1, leftPx: 0, cellsWide: 4, cellsHigh: 5, redAt: 1 };
        const codes = new Uint16Array(4 * 5 * 3);
        codesOfCells(cells, scale, { row: 0, rows: 5 }, codes);
        expect(codes).toEqual(plainly({ ...cells, data: values }, scale));
      }
    },
  );

  it('rows of a file, the lower eight bits first, are those values, from an odd byte too', () => {
    const cells = mosaic(14, 3);
    const bytes = new Uint8Array(1 + cells.data.byteLength);
    bytes.set(new Uint8Array(cells.data.buffer), 1);
    const data = { bytes: bytes.subarray(1), pitchBytes: 2 * PITCH_PX, bits: 16, isLowFirst: true };
    const codes = new Uint16Array(cells.cellsWide * cells.cellsHigh * 3);
    codesOfCells({ ...cells, data }, scale, { row: 0, rows: cells.cellsHigh }, codes);
    expect(codes).toEqual(plainly(cells, scale));
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
