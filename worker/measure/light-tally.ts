import { cellsKernel } from '../cells-kernel.js';

/** Bins are the top bits of a 32-bit float: 64 an octave, from 2^-20 to 2^8; as in worker/kernels/cells/light.ts. */
const DROPPED_BITS = 17;
const FIRST_BIN = (127 - 20) << 6;
const BINS = 28 << 6;
/** Bytes of a tally in the kernel: 64 bits a bin, then sum and count of what lies below the bins and of what lies above. */
export const TALLY_BYTES = 8 * BINS + 32;
/** Values handed to the kernel at a time: few enough to stay in the cache. */
const PIECE = 4096;

/** The least value of each bin: the dropped bits are 0. */
const STARTS = new Float32Array(
  Int32Array.from({ length: BINS }, (_, bin) => (bin + FIRST_BIN) << DROPPED_BITS).buffer,
);
/** What the lowest of a bin's dropped bits is worth. */
const UNITS = Float64Array.from({ length: BINS }, (_, bin) => 2 ** ((bin >> 6) - 20 - 23));

/** How a region's luminances are distributed: their count and sum by bins of 1/64 of an octave. */
export class LightTally {
  pixels = 0;
  private readonly counts = new Int32Array(BINS);
  private readonly sums = new Float64Array(BINS);

  /**
   * @param plane luminances by pixel
   * @param pixels indices into it
   */
  static over(plane: Float32Array, pixels: Int32Array): LightTally {
    const { kernel, at, buffer } = cellsKernel({ tally: TALLY_BYTES, values: 4 * PIECE });
    new Uint8Array(buffer, at.tally, TALLY_BYTES).fill(0);
    // As they lie in memory: nothing is rounded or widened on the way.
    const bits = new Int32Array(plane.buffer, plane.byteOffset, plane.length);
    const piece = new Int32Array(buffer, at.values, PIECE);
    for (let from = 0; from < pixels.length; from += PIECE) {
      const count = Math.min(PIECE, pixels.length - from);
      for (let k = 0; k < count; k++) piece[k] = bits[pixels[from + k]!]!;
      kernel.tallyLight(at.values, count, at.tally);
    }
    return LightTally.from(buffer, at.tally);
  }

  /** What the kernel counted at an address of its memory. */
  static from(buffer: ArrayBuffer, address: number): LightTally {
    const tally = new LightTally();
    const { counts, sums } = tally;
    const words = new Uint32Array(buffer, address, 2 * BINS);
    for (let bin = 0; bin < BINS; bin++) {
      const high = words[2 * bin + 1]!;
      const count = high >>> 8;
      if (count === 0) continue;
      counts[bin] = count;
      sums[bin] = count * STARTS[bin]! + ((high & 0xff) * 2 ** 32 + words[2 * bin]!) * UNITS[bin]!;
      tally.pixels += count;
    }
    for (const [end, bin] of [0, BINS - 1].entries()) {
      const at = address + 8 * BINS + 16 * end;
      const count = new Uint32Array(buffer, at + 8, 1)[0]!;
      counts[bin]! += count;
      sums[bin]! += new Float64Array(buffer, at, 1)[0]!;
      tally.pixels += count;
    }
    return tally;
  }

  /** Adds what another one, of other pixels, has counted. */
  add(other: LightTally): this {
    this.pixels += other.pixels;
    for (let bin = 0; bin < BINS; bin++) {
      this.counts[bin]! += other.counts[bin]!;
      this.sums[bin]! += other.sums[bin]!;
    }
    return this;
  }

  /** Mean without the `cut` lowest and highest values, a bin that straddles the cut giving its own mean. */
  trimmedMean(cut: number): number {
    const last = this.pixels - cut;
    let seen = 0;
    let sum = 0;
    for (let bin = 0; bin < BINS; bin++) {
      const count = this.counts[bin]!;
      if (count === 0) continue;
      const kept = Math.max(0, Math.min(seen + count, last) - Math.max(seen, cut));
      sum += (this.sums[bin]! * kept) / count;
      seen += count;
    }
    return sum / (this.pixels - 2 * cut);
  }
}
