import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../samples/make/random.js';
import { decodeLosslessJpeg, readLosslessHeader } from '../../worker/decode/lossless-jpeg.js';
import { WASM_BASE64 } from '../../worker/kernels/lossless-jpeg.wasm.js';
import { compileKernel, KERNELS } from '../support/compile-kernel.js';
import { losslessJpeg, type LosslessForm } from '../support/lossless-jpeg.js';
import { mutate } from '../support/mutate.js';

/** A slope with noise; of one row in seven any value at all, so that all lengths of differences come. */
function slope(widthPx: number, heightPx: number, bits: number): Uint16Array {
  const random = seededRandom('lossless');
  const most = 2 ** bits - 1;
  return Uint16Array.from({ length: widthPx * heightPx }, (_, i) => {
    const [x, y] = [i % widthPx, Math.floor(i / widthPx)];
    const value = y % 7 === 3 ? most * random.uniform() : (most * (x + y)) / (widthPx + heightPx) + 3 * random.normal();
    return Math.max(0, Math.min(most, Math.round(value)));
  });
}

/** All rows, or null where they cannot be decoded. */
function decoded(jpeg: Uint8Array, rows?: number): Uint16Array | null {
  const bytes = Buffer.from(jpeg);
  const header = readLosslessHeader(bytes);
  if (header === null) return null;
  const width = header.columns * header.components;
  const values = new Uint16Array((rows ?? header.rows) * width);
  const isDecoded = decodeLosslessJpeg(bytes, header, rows ?? header.rows, (some, row) => {
    expect(row % 2).toBe(0);
    values.set(some, row * width);
    return true;
  });
  return isDecoded ? values : null;
}

const encoded = (widthPx: number, heightPx: number, bits: number, form: LosslessForm = {}) =>
  losslessJpeg(slope(widthPx, heightPx, bits), widthPx, heightPx, bits, form);

describe('lossless JPEG in WebAssembly', () => {
  it('is what its source compiles to', () => {
    expect(Buffer.from(compileKernel(KERNELS[3].source)).toString('base64')).toBe(WASM_BASE64);
  });

  it.each([1, 2, 3, 4, 5, 6, 7])('predictor %i: the very values that were coded', (predictor) => {
    for (const components of [1, 2, 3, 4]) {
      for (const columns of [1, 2, 9]) {
        const widthPx = columns * components;
        const jpeg = encoded(widthPx, 23, 14, { predictor, components });
        expect(readLosslessHeader(Buffer.from(jpeg))).toMatchObject({
          bits: 14,
          rows: 23,
          columns,
          components,
          predictor,
        });
        expect(decoded(jpeg), `${components} x ${columns}`).toEqual(slope(widthPx, 23, 14));
      }
    }
  });

  it.each([2, 8, 12, 16])('%i bits: the very values, differences of all lengths', (bits) => {
    expect(decoded(encoded(30, 60, bits))).toEqual(slope(30, 60, bits));
    expect(decoded(encoded(30, 60, bits, { components: 1, predictor: 7 }))).toEqual(slope(30, 60, bits));
  });

  it('more codes than are handed over at once, rows of more than come out at once', () => {
    const [widthPx, heightPx] = [3000, 300];
    const jpeg = encoded(widthPx, heightPx, 14);
    expect(jpeg.length).toBeGreaterThan(3 * 262_144);
    expect(Buffer.from(decoded(jpeg)!.buffer).equals(Buffer.from(slope(widthPx, heightPx, 14).buffer))).toBe(true);
    // A row longer than all that: 40,000 values.
    expect(decoded(encoded(40_000, 3, 14))).toEqual(slope(40_000, 3, 14));
  });

  it('some rows alone are those of all', () => {
    expect(decoded(encoded(16, 50, 12), 21)).toEqual(slope(16, 50, 12).subarray(0, 21 * 16));
  });

  it('ends where it is told to', () => {
    const bytes = Buffer.from(encoded(3000, 240, 14));
    let calls = 0;
    const isDecoded = decodeLosslessJpeg(bytes, readLosslessHeader(bytes)!, 240, () => ++calls < 3);
    expect([isDecoded, calls]).toEqual([false, 3]);
  });

  it('cut anywhere in its codes it is not decoded; without its end marker it is', () => {
    const jpeg = encoded(30, 40, 14);
    const { codesOffset } = readLosslessHeader(Buffer.from(jpeg))!;
    for (let length = codesOffset; length < jpeg.length - 3; length += 7)
      expect(decoded(jpeg.subarray(0, length)), `${length}`).toBeNull();
    expect(decoded(jpeg.subarray(0, -2))).toEqual(slope(30, 40, 14));
  });

  it('a marker amid the codes ends them', () => {
    const jpeg = Uint8Array.from(encoded(30, 40, 14));
    const { codesOffset } = readLosslessHeader(Buffer.from(jpeg))!;
    jpeg.set([0xff, 0xd0], codesOffset + 100);
    expect(decoded(jpeg)).toBeNull();
  });

  it('values of more bits than it says are not taken', () => {
    const jpeg = Buffer.from(encoded(30, 40, 14));
    const precision = readLosslessHeader(jpeg)!.rowsOffset - 1;
    expect(jpeg[precision]).toBe(14);
    jpeg[precision] = 13;
    expect(decoded(jpeg)).toBeNull();
  });

  it('a code that its table does not have is not taken', () => {
    const bytes = Buffer.from(encoded(30, 40, 14));
    const { codesOffset } = readLosslessHeader(bytes)!;
    for (let at = codesOffset + 60; at < codesOffset + 68; at += 2) bytes.set([0xff, 0x00], at);
    expect(decoded(bytes)).toBeNull();
  });

  const change = (what: (jpeg: Buffer) => void): Buffer => {
    const jpeg = Buffer.from(encoded(30, 40, 14));
    what(jpeg);
    return jpeg;
  };
  const at = (marker: number) => (jpeg: Buffer) => jpeg.indexOf(Buffer.from([0xff, marker]));
  const [tables, frame, scan] = [at(0xc4), at(0xc3), at(0xda)];
  const restarts = Buffer.from([0xff, 0xdd, 0, 4, 0, 15]);
  it.each<[string, Buffer]>([
    ['no JPEG', change((jpeg) => jpeg.fill(0, 0, 2))],
    ['a JPEG of another process', change((jpeg) => jpeg.writeUInt8(0xc0, frame(jpeg) + 1))],
    ['a subsampled component', change((jpeg) => jpeg.writeUInt8(0x21, frame(jpeg) + 11))],
    ['17 bits', change((jpeg) => jpeg.writeUInt8(17, frame(jpeg) + 4))],
    ['no rows', change((jpeg) => jpeg.writeUInt16BE(0, frame(jpeg) + 5))],
    ['predictor 0', change((jpeg) => jpeg.writeUInt8(0, scan(jpeg) + 9))],
    ['predictor 8', change((jpeg) => jpeg.writeUInt8(8, scan(jpeg) + 9))],
    ['a point transform', change((jpeg) => jpeg.writeUInt8(1, scan(jpeg) + 11))],
    ['a scan of one component of two', change((jpeg) => jpeg.writeUInt8(1, scan(jpeg) + 4))],
    ['a table that is not there', change((jpeg) => jpeg.writeUInt8(0x10, scan(jpeg) + 6))],
    ['tables that end beyond their segment', change((jpeg) => jpeg.writeUInt8(255, tables(jpeg) + 10))],
    ['more codes than there can be', change((jpeg) => jpeg.writeUInt8(3, tables(jpeg) + 5))],
    ['a difference of 17 bits', change((jpeg) => jpeg.writeUInt8(17, tables(jpeg) + 21))],
    ['restart intervals', change(() => undefined)],
  ])('%s: not decoded', (name, jpeg) => {
    const isRestarting = name === 'restart intervals';
    const bytes = isRestarting ? Buffer.concat([jpeg.subarray(0, 2), restarts, jpeg.subarray(2)]) : jpeg;
    expect(decoded(bytes)).toBeNull();
  });

  it('segments of applications and comments before the frame are passed over', () => {
    const jpeg = Buffer.from(encoded(30, 40, 14));
    const comment = Buffer.from([0xff, 0xfe, 0, 6, 1, 2, 3, 4, 0xff, 0xe1, 0, 3, 9]);
    expect(decoded(Buffer.concat([jpeg.subarray(0, 2), comment, jpeg.subarray(2)]))).toEqual(slope(30, 40, 14));
  });

  it('300 damaged ones: each is decoded or not, and the whole one still is', () => {
    const jpeg = Buffer.from(encoded(64, 64, 14, { predictor: 6 }));
    for (let seed = 1; seed <= 300; seed += 1) decoded(mutate(jpeg, seed).bytes);
    expect(decoded(jpeg)).toEqual(slope(64, 64, 14));
  });
});
