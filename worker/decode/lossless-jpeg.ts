import { growMemory, kernelInstance } from '../kernel-instance.js';
import { WASM_BASE64 } from '../kernels/lossless-jpeg.wasm.js';

interface Kernel {
  memory: WebAssembly.Memory;
  makeTable: (counts: number, symbols: number, table: number) => number;
  unstuff: (from: number, end: number, to: number) => number;
  decodeRows: (...args: number[]) => number;
  reached: WebAssembly.Global;
  seen: WebAssembly.Global;
  isUnknown: WebAssembly.Global;
  FREE: WebAssembly.Global;
  TABLE_BYTES: WebAssembly.Global;
}

let kernel: Kernel | null = null;

/** What a lossless JPEG says of itself before its coded samples. */
export interface LosslessHeader {
  bits: number;
  rows: number;
  /** Samples of each component in a row. */
  columns: number;
  components: number;
  /** 1..7: T.81 table H.1. */
  predictor: number;
  /** Of each component: 16 bytes, how many codes of 1 to 16 bits; then their symbols. */
  tables: Buffer[];
  codesOffset: number;
  /** Where the frame header keeps its number of rows, 16 bits. */
  rowsOffset: number;
}

const START_OF_IMAGE = 0xffd8;
const MARKER = { losslessFrame: 0xffc3, tables: 0xffc4, scan: 0xffda, restart: 0xffdd } as const;
/** Application segments and comments. */
const isPassedOver = (marker: number): boolean => (marker >= 0xffe0 && marker <= 0xffef) || marker === 0xfffe;
const MOST_COMPONENTS = 4;
const BITS = { from: 2, to: 16 } as const;

/**
 * The header of a lossless JPEG with Huffman codes (ITU-T T.81 process 14, clauses B.2 and H, from memory).
 *
 * @param jpeg from its start of image on; what follows its end does not matter
 * @returns null for all else, and for what raws do not hold: restart intervals, subsampled components, several scans, a point
 *   transform, tables that components do not use in order
 */
export function readLosslessHeader(jpeg: Buffer): LosslessHeader | null {
  if (jpeg.length < 4 || jpeg.readUInt16BE(0) !== START_OF_IMAGE) return null;
  const tables: (Buffer | undefined)[] = [];
  let frame: { bits: number; rows: number; columns: number; components: number; rowsOffset: number } | null = null;
  for (let at = 2; at + 4 <= jpeg.length;) {
    const marker = jpeg.readUInt16BE(at);
    const end = at + 2 + jpeg.readUInt16BE(at + 2);
    const segment = jpeg.subarray(at + 4, end);
    if (end > jpeg.length || end < at + 4) return null;
    if (marker === MARKER.tables) {
      if (!readTables(segment, tables)) return null;
    } else if (marker === MARKER.losslessFrame && frame === null) {
      const components = segment[5] ?? 0;
      if (segment.length !== 6 + 3 * components || components < 1 || components > MOST_COMPONENTS) return null;
      for (let i = 0; i < components; i++) if (segment[7 + 3 * i] !== 0x11) return null;
      const [rows, columns] = [segment.readUInt16BE(1), segment.readUInt16BE(3)];
      frame = { bits: segment[0]!, rows, columns, components, rowsOffset: at + 5 };
    } else if (marker === MARKER.scan && frame !== null) {
      return headerOf(frame, segment, tables, end);
    } else if (!isPassedOver(marker)) return null;
    at = end;
  }
  return null;
}

function headerOf(
  frame: Pick<LosslessHeader, 'bits' | 'rows' | 'columns' | 'components' | 'rowsOffset'>,
  scan: Buffer,
  tables: readonly (Buffer | undefined)[],
  codesOffset: number,
): LosslessHeader | null {
  const { bits, rows, columns, components } = frame;
  if (scan.length !== 4 + 2 * components || scan[0] !== components || scan[3 + 2 * components] !== 0) return null;
  if (bits < BITS.from || bits > BITS.to || rows < 1 || columns < 1) return null;
  const predictor = scan[1 + 2 * components]!;
  if (predictor < 1 || predictor > 7) return null;
  const used: Buffer[] = [];
  for (let i = 0; i < components; i++) {
    const named = tables[scan[2 + 2 * i]! >> 4];
    // LibRaw gives each component the table of its own number, or the last one before it.
    const inOrder = tables[i] ?? used[i - 1];
    if (named === undefined || inOrder === undefined || !named.equals(inOrder)) return null;
    used.push(named);
  }
  return { ...frame, predictor, tables: used, codesOffset };
}

/** Tables of one segment, by their number: T.81 B.2.4.2. Whether they are such. */
function readTables(segment: Buffer, tables: (Buffer | undefined)[]): boolean {
  for (let at = 0; at < segment.length;) {
    const number = segment[at]!;
    const symbols = segment.subarray(at + 1, at + 17).reduce((sum, count) => sum + count, 0);
    const end = at + 17 + symbols;
    if (number > 3 || symbols > 256 || end > segment.length) return false;
    tables[number] = segment.subarray(at + 1, end);
    at = end;
  }
  return true;
}

/** Coded bytes that are handed over at once, and rows of so many bytes that come out at once: they stay in the second cache. */
const CHUNK_BYTES = 262_144;
const BATCH_BYTES = 65_536;
/** What the kernel may read or write beyond. */
const SLACK_BYTES = 64;
/** A value takes 32 bits at most: a code of 16 and a difference of as many. */
const MOST_CODED_BYTES = 4;

/**
 * Decodes rows of a lossless JPEG in WebAssembly (worker/kernels/lossless-jpeg.ts).
 *
 * @param jpeg from its start of image on
 * @param rows how many, from the first on; at most those of the header
 * @param take gets them as they come: rows x columns x components values that are overwritten afterwards, and which row is
 *   first, an even one; it says whether to go on
 * @returns false where it said no, or the codes end early, are none, or say values of more bits than the header
 */
export function decodeLosslessJpeg(
  jpeg: Buffer,
  { bits, columns, components, predictor, tables, codesOffset }: LosslessHeader,
  rows: number,
  take: (values: Uint16Array, row: number) => boolean,
): boolean {
  kernel ??= kernelInstance<Kernel>(WASM_BASE64);
  const { memory, makeTable, unstuff, decodeRows, reached, seen, isUnknown } = kernel;
  const [free, tableBytes] = [kernel.FREE.value as number, kernel.TABLE_BYTES.value as number];
  const width = columns * components;
  const batchRows = Math.min(rows, Math.max(2, Math.floor(BATCH_BYTES / (2 * width)) & ~1));
  const mostBytes = batchRows * width * MOST_CODED_BYTES + SLACK_BYTES;
  const windowBytes = Math.max(4 * CHUNK_BYTES, mostBytes + CHUNK_BYTES + SLACK_BYTES);
  const tablesAt = free + 512;
  const chunkAt = (tablesAt + MOST_COMPONENTS * tableBytes + 15) & ~15;
  const windowAt = chunkAt + CHUNK_BYTES;
  const aboveAt = (windowAt + windowBytes + mostBytes + 15) & ~15;
  const valuesAt = aboveAt + 2 * width;
  growMemory(memory, valuesAt + batchRows * width * 2 + SLACK_BYTES);

  const { buffer } = memory;
  const chunk = new Uint8Array(buffer, chunkAt, CHUNK_BYTES);
  const window = new Uint8Array(buffer, windowAt, windowBytes);
  const values = new Uint16Array(buffer, aboveAt, (1 + batchRows) * width);
  for (const [i, table] of tables.entries()) {
    const settings = new Uint8Array(buffer, free, 16 + 256).fill(0);
    settings.set(table);
    if (makeTable(free, free + 16, tablesAt + i * tableBytes) === 0) return false;
  }
  values.fill(1 << (bits - 1), 0, width);
  seen.value = 0;
  isUnknown.value = 0;
  let [from, held, bit, ended] = [codesOffset, 0, 0, false];
  for (let row = 0; row < rows; row += batchRows) {
    const now = Math.min(batchRows, rows - row);
    while (!ended && held - (bit >> 3) < mostBytes) {
      if (held + CHUNK_BYTES + SLACK_BYTES > windowBytes) {
        window.copyWithin(0, bit >> 3, held);
        held -= bit >> 3;
        bit &= 7;
      }
      const given = Math.min(CHUNK_BYTES, jpeg.length - from);
      chunk.set(jpeg.subarray(from, from + given));
      held += unstuff(chunkAt, chunkAt + given, windowAt + held);
      const read = (reached.value as number) - chunkAt;
      from += read;
      // All but a last 0xff, which waits for what follows it: anything else that is left is a marker.
      ended = read < given - 1 || from >= jpeg.length || (read < given && from === jpeg.length - 1);
    }
    const isFirst = row === 0 ? 1 : 0;
    bit = decodeRows(windowAt, bit, now, columns, components, predictor, tablesAt, isFirst, valuesAt);
    // Values of 16 bits are known but for multiples of 65536 (T.81 H.1.2.1); of fewer bits none is beyond them.
    const isBeyond = bits < 16 && (seen.value as number) >>> bits !== 0;
    if (bit > held * 8 || isUnknown.value !== 0 || isBeyond) return false;
    if (!take(values.subarray(width, (1 + now) * width), row)) return false;
    values.copyWithin(0, now * width, (now + 1) * width);
  }
  return true;
}
