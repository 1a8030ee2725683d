import { cellsKernel } from '../cells-kernel.js';
import { gainTable } from './gain.js';
import type { Point } from './port.js';

/** A square looked at by a network: centre, side and turn (radians, clockwise on screen), in pixels of the image. */
export interface SquareRegion {
  centre: Point;
  sidePx: number;
  turn: number;
}

interface Level {
  rgb8: Uint8Array;
  widthPx: number;
  heightPx: number;
}

/**
 * The picture in halved sizes, made when first needed, so that a strong reduction costs no more than a mild one; its light
 * multiplied on the way.
 */
export class CropSource {
  /** The first is the picture as it was given, the others have the gain. */
  private readonly levels: Level[];

  /**
   * @param rgb8 height x width x 3, row-major
   * @param gain by which linear light is multiplied, clipped at white; 1 leaves the codes as they are
   */
  constructor(
    rgb8: Uint8Array,
    readonly widthPx: number,
    readonly heightPx: number,
    private readonly gain = 1,
  ) {
    this.levels = [{ rgb8, widthPx, heightPx }];
  }

  /** The square around the whole picture. */
  whole(): SquareRegion {
    return {
      centre: { x: this.widthPx / 2, y: this.heightPx / 2 },
      sidePx: Math.max(this.widthPx, this.heightPx),
      turn: 0,
    };
  }

  /**
   * Reads a turned square into `size` x `size` x 3 floats, each `code * scale + offset`; outside the picture codes are 0.
   * Two by two bilinear samples an output pixel, from the level at which one output pixel covers one to two.
   * @returns in the kernel's memory: gone with its next call
   */
  crop(region: SquareRegion, size: number, scale: number, offset: number): Float32Array {
    const reduction = region.sidePx / size;
    const depth = Math.max(0, Math.floor(Math.log2(Math.max(1, reduction))));
    const { level, depth: reached } = this.level(depth);
    const factor = 2 ** reached;
    const step = reduction / factor;
    const across = Math.cos(region.turn) * step;
    const down = Math.sin(region.turn) * step;
    const centre = { x: region.centre.x / factor, y: region.centre.y / factor };
    // Only the rectangle that the square reaches is handed over.
    const reach = (size / 2) * (Math.abs(across) + Math.abs(down)) + 2;
    const [top, bottom] = within(centre.y - reach, centre.y + reach, level.heightPx);
    const [left, right] = within(centre.x - reach, centre.x + reach, level.widthPx);
    const stride = (right - left) * 3;
    const bytes = (bottom - top) * stride;
    const values = size * size * 3;
    // All of it lies outside: a head above the frame.
    if (bytes === 0) return new Float32Array(values).fill(offset);
    const { kernel, at, buffer } = cellsKernel({ codes: bytes + 16, table: 256, out: 4 * values + 16 });
    const codes = new Uint8Array(buffer, at.codes, bytes);
    for (let y = top, from = (top * level.widthPx + left) * 3; y < bottom; y++, from += level.widthPx * 3)
      codes.set(level.rgb8.subarray(from, from + stride), (y - top) * stride);
    if (reached === 0 && this.gain !== 1) {
      new Uint8Array(buffer, at.table).set(gainTable(this.gain, 1));
      kernel.replaceCodes(at.codes, bytes, at.table);
    }
    // One sample a pixel, or two by two.
    const fine = step > 1.2 ? 1 : 0;
    kernel.cropCodes(at.codes, right - left, bottom - top, size, across, down, centre.x - left, centre.y - top, fine, scale, offset, at.out); // prettier-ignore
    return new Float32Array(buffer, at.out, values);
  }

  private level(depth: number): { level: Level; depth: number } {
    while (this.levels.length <= depth) {
      const last = this.levels[this.levels.length - 1]!;
      if (Math.min(last.widthPx, last.heightPx) < 4) break;
      this.levels.push(halved(last, this.levels.length === 1 ? this.gain : 1));
    }
    const reached = Math.min(depth, this.levels.length - 1);
    return { level: this.levels[reached]!, depth: reached };
  }
}

/** The whole numbers from `from` to `to` that lie in 0..length; none is an empty range. */
function within(from: number, to: number, length: number): [number, number] {
  const first = Math.min(length, Math.max(0, Math.floor(from)));
  return [first, Math.max(first, Math.min(length, Math.ceil(to)))];
}

/** Rows are handed over so many bytes at a time, which stay in the processor's cache. */
const STRIP_BYTES = 1 << 18;

function halved({ rgb8, widthPx, heightPx }: Level, gain: number): Level {
  const half = { widthPx: widthPx >> 1, heightPx: heightPx >> 1 };
  const out = new Uint8Array(half.widthPx * half.heightPx * 3);
  const table = gainTable(gain, 4);
  const stride = widthPx * 3;
  const rows = 2 * Math.max(1, Math.floor(STRIP_BYTES / stride / 2));
  const { kernel, at, buffer } = cellsKernel({ codes: rows * stride + 8, table: table.length, out: rows * stride });
  const codes = new Uint8Array(buffer, at.codes);
  new Uint8Array(buffer, at.table).set(table);
  for (let y = 0; y < 2 * half.heightPx; y += rows) {
    const count = Math.min(rows, 2 * half.heightPx - y);
    codes.set(rgb8.subarray(y * stride, (y + count) * stride));
    kernel.halveCodes(at.codes, widthPx, count, at.table, at.out);
    const bytes = (count >> 1) * half.widthPx * 3;
    out.set(new Uint8Array(buffer, at.out, bytes), (y >> 1) * half.widthPx * 3);
  }
  return { ...half, rgb8: out };
}

/** Turns a point given as shares (0..1) of a square region into pixels of the image. */
export function pointInImage(region: SquareRegion, across: number, down: number): Point {
  const dx = (across - 0.5) * region.sidePx;
  const dy = (down - 0.5) * region.sidePx;
  const cos = Math.cos(region.turn);
  const sin = Math.sin(region.turn);
  return { x: region.centre.x + dx * cos - dy * sin, y: region.centre.y + dx * sin + dy * cos };
}
