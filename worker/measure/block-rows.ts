import { WASM_BASE64 } from '../kernels/block-row.wasm.js';
import { KEY_SHIFT, LIGHT_KEYS } from './light-histogram.js';

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
  /** blocks x 3: light of red, green, blue summed. */
  sums: Float64Array;
  /** Pixels with any channel at the top / all channels at the bottom. */
  topCounts: Uint32Array;
  bottomCounts: Uint32Array;
}

interface Kernel {
  memory: WebAssembly.Memory;
  blockRow8: (...args: number[]) => void;
  blockRow16: (...args: number[]) => void;
}

// One instance a process: frames are measured one after another, and its memory is as large as its largest row.
let kernel: Kernel | null = null;
function openKernel(): Kernel {
  kernel ??= new WebAssembly.Instance(new WebAssembly.Module(Buffer.from(WASM_BASE64, 'base64')))
    .exports as unknown as Kernel;
  return kernel;
}

/** The kernel reads whole vectors: so many bytes may be read past the last pixel. */
const READ_PAST_BYTES = 16;
const PAGE_BYTES = 65_536;
/** Counts of codes and keys stand twice: see the kernel. */
const SETS = 2;

/**
 * The pass over all pixels, a row of blocks at a time, in WebAssembly SIMD (worker/kernels/block-row.ts). One pass at a
 * time in a process: opening another ends the one before.
 *
 * @throws RangeError where a clipped code lies beyond `maxCode`.
 */
export function openBlockRows(options: BlockRowOptions) {
  const { widthPx, blockPx, maxCode, tables, weights, topCodes, bottomCode } = options;
  if (Math.max(...topCodes, bottomCode) > maxCode)
    throw new RangeError(
      `codes end at ${maxCode}, so none clips from ${topCodes.join(', ')} or is black to ${bottomCode}`,
    );
  const wide = maxCode > 255;
  const blocks = Math.ceil(widthPx / blockPx);
  const pixelBytes = wide ? 2 : 1;

  const { memory, blockRow8, blockRow16 } = openKernel();
  // The first page is the module's own.
  let end = PAGE_BYTES;
  const take = (bytes: number) => {
    const at = end;
    end = (end + bytes + 15) & ~15;
    return at;
  };
  const at = {
    tables: take(wide ? 3 * 65_536 * 4 : 3 * 256 * 16),
    weights: take(12),
    topCodes: take(16),
    bottomCodes: take(16),
    codes: take(SETS * 3 * 256 * 4),
    keys: take(SETS * LIGHT_KEYS * 4),
    counts: take(10 * 4),
    sums: take(blocks * 3 * 8),
    topCounts: take(blocks * 4),
    bottomCounts: take(blocks * 4),
    pixels: take(widthPx * blockPx * 3 * pixelBytes + READ_PAST_BYTES),
  };
  const missingPages = Math.ceil((end - memory.buffer.byteLength) / PAGE_BYTES);
  if (missingPages > 0) memory.grow(missingPages);

  const { buffer } = memory;
  const bytes = new Uint8Array(buffer);
  bytes.fill(0, PAGE_BYTES, at.pixels);
  const floats = new Float32Array(buffer);
  for (let c = 0; c < 3; c++) {
    const table = tables[c]!;
    if (wide) {
      floats.set(table, at.tables / 4 + c * 65_536);
      floats[at.weights / 4 + c] = weights[c]!;
      continue;
    }
    // A channel's light stands in its own lane, its share of the luminance in the last: three rows add up to both.
    for (let code = 0; code < 256; code++) {
      const row = at.tables / 4 + c * 1024 + code * 4;
      floats[row + c] = table[code]!;
      floats[row + 3] = weights[c]! * table[code]!;
    }
  }
  if (wide) {
    new Uint32Array(buffer, at.topCodes, 3).set(topCodes);
    new Uint32Array(buffer, at.bottomCodes, 3).fill(bottomCode);
  } else {
    for (let i = 0; i < 16; i++) bytes[at.topCodes + i] = topCodes[i % 3]!;
    bytes.fill(bottomCode, at.bottomCodes, at.bottomCodes + 16);
  }
  const pixels = wide
    ? new Uint16Array(buffer, at.pixels, widthPx * blockPx * 3)
    : new Uint8Array(buffer, at.pixels, widthPx * blockPx * 3);
  const row: BlockRow = {
    sums: new Float64Array(buffer, at.sums, blocks * 3),
    topCounts: new Uint32Array(buffer, at.topCounts, blocks),
    bottomCounts: new Uint32Array(buffer, at.bottomCounts, blocks),
  };
  const results = [at.counts, at.sums, at.topCounts, at.bottomCounts];

  return {
    /** @param data rows x widthPx x channels, at most blockPx rows. */
    add(data: Uint8Array | Uint16Array, channels: 1 | 3, rows: number): BlockRow {
      if (channels === 3) pixels.set(data);
      else for (let i = 0; i < data.length; i++) pixels.fill(data[i]!, i * 3, i * 3 + 3);
      bytes.fill(0, at.sums, at.pixels);
      const settings = [at.pixels, widthPx, rows, blockPx, KEY_SHIFT, at.tables];
      if (wide) blockRow16(...settings, at.weights, at.codes, at.keys, at.topCodes, at.bottomCodes, ...results);
      else blockRow8(...settings, at.codes, at.keys, at.topCodes, at.bottomCodes, ...results);
      return row;
    },
    /** Copies of what was counted so far. */
    totals(): PixelTotals {
      const counted = (from: number, n: number) => new Uint32Array(buffer, from, n).slice();
      const inBothSets = (from: number, n: number, setBytes: number) => {
        const [counts, others] = [counted(from, n), new Uint32Array(buffer, from + setBytes, n)];
        for (let i = 0; i < n; i++) counts[i]! += others[i]!;
        return counts;
      };
      const codesOf = (channel: number) => inBothSets(at.codes + channel * 1024, 256, 3 * 1024);
      return {
        lightKeys: inBothSets(at.keys, LIGHT_KEYS, LIGHT_KEYS * 4),
        codes: { red: codesOf(0), green: codesOf(1), blue: codesOf(2) },
        top: channelCounts(counted(at.counts, 5)),
        bottom: channelCounts(counted(at.counts + 20, 5)),
      };
    },
  };
}

function channelCounts(counts: Uint32Array): ChannelCounts {
  const [any, red, green, blue, all] = counts as unknown as [number, number, number, number, number];
  return { any, red, green, blue, all };
}
