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

/** The picture in halved sizes, made when first needed, so that a strong reduction costs no more than a mild one. */
export class CropSource {
  private readonly levels: Level[];

  /** @param rgb8 height x width x 3, row-major */
  constructor(
    rgb8: Uint8Array,
    readonly widthPx: number,
    readonly heightPx: number,
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
   */
  crop(region: SquareRegion, size: number, scale: number, offset: number): Float32Array {
    const reduction = region.sidePx / size;
    const depth = Math.max(0, Math.floor(Math.log2(Math.max(1, reduction))));
    const { level, depth: reached } = this.level(depth);
    const factor = 2 ** reached;
    const out = new Float32Array(size * size * 3);
    const across = (Math.cos(region.turn) * reduction) / factor;
    const down = (Math.sin(region.turn) * reduction) / factor;
    const sampled = { across, down, centreX: region.centre.x / factor, centreY: region.centre.y / factor };
    // One sample a pixel, or two by two.
    const fine = reduction / factor > 1.2;
    for (const sy of fine ? [-0.25, 0.25] : [0])
      for (const sx of fine ? [-0.25, 0.25] : [0]) addSamples(out, size, level, sampled, sx, sy);
    const weight = scale / (fine ? 4 : 1);
    for (let i = 0; i < out.length; i++) out[i] = out[i]! * weight + offset;
    return out;
  }

  private level(depth: number): { level: Level; depth: number } {
    while (this.levels.length <= depth) {
      const last = this.levels[this.levels.length - 1]!;
      if (Math.min(last.widthPx, last.heightPx) < 4) break;
      this.levels.push(halved(last));
    }
    const reached = Math.min(depth, this.levels.length - 1);
    return { level: this.levels[reached]!, depth: reached };
  }
}

/** One step of the output to the right and down, and its middle, in pixels of a level. */
interface Sampled {
  across: number;
  down: number;
  centreX: number;
  centreY: number;
}

/** Adds one bilinear sample to each of `size` x `size` x 3 values, (`sx`, `sy`) of a pixel from its middle. */
function addSamples(out: Float32Array, size: number, level: Level, at: Sampled, sx: number, sy: number): void {
  const { rgb8: codes, widthPx, heightPx } = level;
  const { across, down, centreX, centreY } = at;
  const stride = widthPx * 3;
  const middle = (size - 1) / 2;
  for (let y = 0, o = 0; y < size; y++) {
    const dy = y - middle + sy;
    const rowX = centreX - down * dy - 0.5;
    const rowY = centreY + across * dy - 0.5;
    for (let x = 0; x < size; x++, o += 3) {
      const dx = x - middle + sx;
      const px = rowX + across * dx;
      const py = rowY + down * dx;
      // No part of a pixel outside counts; truncation is rounding down from here on.
      if (px < 0 || py < 0) continue;
      const x0 = px | 0;
      const y0 = py | 0;
      if (x0 >= widthPx - 1 || y0 >= heightPx - 1) continue;
      const fx = px - x0;
      const fy = py - y0;
      const i = y0 * stride + x0 * 3;
      const j = i + stride;
      const d = fx * fy;
      const b = fx - d;
      const c = fy - d;
      const a = 1 - fx - c;
      out[o]! += codes[i]! * a + codes[i + 3]! * b + codes[j]! * c + codes[j + 3]! * d;
      out[o + 1]! += codes[i + 1]! * a + codes[i + 4]! * b + codes[j + 1]! * c + codes[j + 4]! * d;
      out[o + 2]! += codes[i + 2]! * a + codes[i + 5]! * b + codes[j + 2]! * c + codes[j + 5]! * d;
    }
  }
}

function halved(from: Level): Level {
  const widthPx = from.widthPx >> 1;
  const heightPx = from.heightPx >> 1;
  const { rgb8: codes } = from;
  const rgb8 = new Uint8Array(widthPx * heightPx * 3);
  const stride = from.widthPx * 3;
  for (let y = 0, to = 0; y < heightPx; y++) {
    let i = 2 * y * stride;
    for (let x = 0; x < widthPx; x++, i += 6, to += 3) {
      const j = i + stride;
      rgb8[to] = (codes[i]! + codes[i + 3]! + codes[j]! + codes[j + 3]! + 2) >> 2;
      rgb8[to + 1] = (codes[i + 1]! + codes[i + 4]! + codes[j + 1]! + codes[j + 4]! + 2) >> 2;
      rgb8[to + 2] = (codes[i + 2]! + codes[i + 5]! + codes[j + 2]! + codes[j + 5]! + 2) >> 2;
    }
  }
  return { rgb8, widthPx, heightPx };
}

/** Turns a point given as shares (0..1) of a square region into pixels of the image. */
export function pointInImage(region: SquareRegion, across: number, down: number): Point {
  const dx = (across - 0.5) * region.sidePx;
  const dy = (down - 0.5) * region.sidePx;
  const cos = Math.cos(region.turn);
  const sin = Math.sin(region.turn);
  return { x: region.centre.x + dx * cos - dy * sin, y: region.centre.y + dx * sin + dy * cos };
}
