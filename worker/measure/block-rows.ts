import { growMemory, kernelInstance } from '../kernel-instance.js';
import { WASM_BASE64 } from '../kernels/block-row.wasm.js';
import { LIGHT_KEYS } from './light-histogram.js';

type Three<T> = readonly [T, T, T];

export interface ChannelCounts {
  any: number;
  red: number;
  green: number;
  blue: number;
  all: number;
}

/** Counts over all pixels. */
export interface PixelTotals {
  /** By `lightKey` of scene luminance. */
  lightKeys: Uint32Array;
  /** 256 bins a channel, whatever the depth of the file. */
  codes: { red: Uint32Array; green: Uint32Array; blue: Uint32Array };
  top: ChannelCounts;
  bottom: ChannelCounts;
}

export interface BlockRowOptions {
  widthPx: number;
  blockPx: number;
  /** 255: bytes; 65535: 16-bit integers. */
  maxCode: number;
  /** Per channel: code -> scene-linear light. */
  tables: Three<Float32Array>;
  /** Luminance of each channel's light. */
  weights: Three<number>;
  /** Whole codes at or above which a channel is clipped, and at or under which it is black. */
  topCodes: Three<number>;
  bottomCode: number;
}

/** A row of blocks: valid until the next row is added. */
export interface BlockRow {
  /** blocks x 3: mean light of red, green, blue. */
  rgb: Float32Array;
  /** Share of pixels with any channel at the top / all channels at the bottom. */
  topShare: Float32Array;
  bottomShare: Float32Array;
}

interface Kernel {
  memory: WebAssembly.Memory;
  blockRow8: (...args: number[]) => void;
  blockRow16: (...args: number[]) => void;
  blockMeans: (...args: number[]) => void;
  /** Where tables and counts lie and free memory begins. */
  TABLES: WebAssembly.Global;
  CODES: WebAssembly.Global;
  KEYS: WebAssembly.Global;
  FREE: WebAssembly.Global;
}

// One instance a process: frames are measured one after another, and its memory is as large as its largest row.
let kernel: Kernel | null = null;

/** The kernel reads whole vectors: so many bytes may be read past the last pixel. */
const READ_PAST_BYTES = 16;
const PAGE_BYTES = 65_536;
/** Counts of codes and keys stand twice: see the kernel. */
const CODES_BYTES = 256 * 16;
const KEYS_BYTES = LIGHT_KEYS * 4;

/**
 * The pass over all pixels, a row of blocks at a time, in WebAssembly SIMD (worker/kernels/block-row.ts). One pass at a
 * time in a process: opening another ends the one before.
 */
export class BlockRows {
  private readonly kernel: Kernel;
  private readonly at: Addresses;
  private readonly wide: boolean;
  private readonly widthPx: number;
  private readonly blockPx: number;
  private readonly pixels: Uint8Array | Uint16Array;
  private readonly row: BlockRow;

  /** @throws RangeError where a clipped code lies beyond `maxCode`. */
  constructor(options: BlockRowOptions) {
    const { widthPx, blockPx, maxCode, topCodes, bottomCode } = options;
    if (Math.max(...topCodes, bottomCode) > maxCode)
      throw new RangeError(
        `codes end at ${maxCode}, so none clips from ${topCodes.join(', ')} or is black to ${bottomCode}`,
      );
    this.kernel = kernel ??= kernelInstance(WASM_BASE64);
    this.wide = maxCode > 255;
    this.widthPx = widthPx;
    this.blockPx = blockPx;
    const { at, end } = addressesOf(this.kernel, options);
    this.at = at;
    const { memory } = this.kernel;
    growMemory(memory, end);
    const { buffer } = memory;
    new Uint8Array(buffer).fill(0, PAGE_BYTES, at.pixels);
    (this.wide ? writeWideTables : writeByteTables)(buffer, at, options);
    const blocks = Math.ceil(widthPx / blockPx);
    this.pixels = new (this.wide ? Uint16Array : Uint8Array)(buffer, at.pixels, widthPx * blockPx * 3);
    this.row = {
      rgb: new Float32Array(buffer, at.rgb, blocks * 3),
      topShare: new Float32Array(buffer, at.topShares, blocks),
      bottomShare: new Float32Array(buffer, at.bottomShares, blocks),
    };
  }

  /** @param data rows x widthPx x channels, at most blockPx rows. */
  add(data: Uint8Array | Uint16Array, channels: 1 | 3, rows: number): BlockRow {
    const { kernel, at, pixels, widthPx, blockPx } = this;
    if (channels === 3) pixels.set(data);
    else for (let i = 0; i < data.length; i++) pixels.fill(data[i]!, i * 3, i * 3 + 3);
    const size = [widthPx, rows, blockPx] as const;
    const counted = [at.sums, at.topCounts, at.bottomCounts] as const;
    if (this.wide)
      kernel.blockRow16(at.pixels, ...size, at.tables, at.weights, at.topCodes, at.bottomCodes, at.counts, ...counted);
    else kernel.blockRow8(at.pixels, ...size, at.topCodes, at.bottomCodes, at.counts, ...counted);
    kernel.blockMeans(...size, ...counted, at.rgb, at.topShares, at.bottomShares);
    return this.row;
  }

  /** Copies of what was counted so far. */
  totals(): PixelTotals {
    const { buffer } = this.kernel.memory;
    const { at } = this;
    const codes = sumOfSets(buffer, at.codes, CODES_BYTES / 4, CODES_BYTES);
    const ends = new Uint32Array(buffer, at.counts, 10);
    return {
      lightKeys: sumOfSets(buffer, at.keys, LIGHT_KEYS, KEYS_BYTES),
      codes: { red: everyFourth(codes, 0), green: everyFourth(codes, 1), blue: everyFourth(codes, 2) },
      top: channelCounts(ends, 0),
      bottom: channelCounts(ends, 5),
    };
  }
}

type Addresses = ReturnType<typeof addressesOf>['at'];

/** Where everything lies in the kernel's memory, and where that ends. */
function addressesOf({ TABLES, CODES, KEYS, FREE }: Kernel, { widthPx, blockPx, maxCode }: BlockRowOptions) {
  const wide = maxCode > 255;
  const blocks = Math.ceil(widthPx / blockPx);
  let end = FREE.value as number;
  const take = (bytes: number) => {
    const at = end;
    end = (end + bytes + 15) & ~15;
    return at;
  };
  const at = {
    tables: wide ? take(3 * 65_536 * 4) : (TABLES.value as number),
    codes: CODES.value as number,
    keys: KEYS.value as number,
    weights: take(12),
    topCodes: take(16),
    bottomCodes: take(16),
    counts: take(10 * 4),
    sums: take(blocks * 16),
    topCounts: take(blocks * 4),
    bottomCounts: take(blocks * 4),
    rgb: take(blocks * 12 + 4),
    topShares: take(blocks * 4),
    bottomShares: take(blocks * 4),
    pixels: take(widthPx * blockPx * 3 * (wide ? 2 : 1) + READ_PAST_BYTES),
  };
  return { at, end };
}

function writeWideTables(buffer: ArrayBuffer, at: Addresses, options: BlockRowOptions): void {
  const floats = new Float32Array(buffer);
  for (let c = 0; c < 3; c++) floats.set(options.tables[c]!, at.tables / 4 + c * 65_536);
  floats.set(options.weights, at.weights / 4);
  new Uint32Array(buffer, at.topCodes, 3).set(options.topCodes);
  new Uint32Array(buffer, at.bottomCodes, 3).fill(options.bottomCode);
}

function writeByteTables(buffer: ArrayBuffer, at: Addresses, options: BlockRowOptions): void {
  const floats = new Float32Array(buffer);
  for (let c = 0; c < 3; c++) {
    const table = options.tables[c]!;
    // A channel's light stands in its own lane, its share of the luminance in the last: three rows add up to both.
    for (let code = 0; code < 256; code++) {
      const row = at.tables / 4 + c * 1024 + code * 4;
      floats[row + c] = table[code]!;
      floats[row + 3] = options.weights[c]! * table[code]!;
    }
  }
  const bytes = new Uint8Array(buffer);
  for (let i = 0; i < 16; i++) bytes[at.topCodes + i] = options.topCodes[i % 3]!;
  bytes.fill(options.bottomCode, at.bottomCodes, at.bottomCodes + 16);
}

/** Counts that stand in two sets. */
function sumOfSets(buffer: ArrayBuffer, from: number, n: number, setBytes: number): Uint32Array {
  const counts = new Uint32Array(buffer, from, n).slice();
  const others = new Uint32Array(buffer, from + setBytes, n);
  for (let i = 0; i < n; i++) counts[i]! += others[i]!;
  return counts;
}

function everyFourth(counts: Uint32Array, first: number): Uint32Array {
  const out = new Uint32Array(counts.length / 4);
  for (let i = 0; i < out.length; i++) out[i] = counts[4 * i + first]!;
  return out;
}

function channelCounts(counts: Uint32Array, from: number): ChannelCounts {
  return {
    any: counts[from]!,
    red: counts[from + 1]!,
    green: counts[from + 2]!,
    blue: counts[from + 3]!,
    all: counts[from + 4]!,
  };
}
