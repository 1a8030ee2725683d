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
    const samples = reduction / factor > 1.2 ? [-0.25, 0.25] : [0];
    const weight = scale / samples.length ** 2;
    const middle = (size - 1) / 2;
    let at = 0;
    for (let y = 0; y < size; y++) {
      for (let x = 0; x < size; x++, at += 3) {
        let red = 0;
        let green = 0;
        let blue = 0;
        for (const sy of samples) {
          for (const sx of samples) {
            const dx = x - middle + sx;
            const dy = y - middle + sy;
            const px = region.centre.x / factor + across * dx - down * dy - 0.5;
            const py = region.centre.y / factor + down * dx + across * dy - 0.5;
            const x0 = Math.floor(px);
            const y0 = Math.floor(py);
            if (x0 < 0 || y0 < 0 || x0 >= level.widthPx - 1 || y0 >= level.heightPx - 1) continue;
            const fx = px - x0;
            const fy = py - y0;
            const i = (y0 * level.widthPx + x0) * 3;
            const j = i + level.widthPx * 3;
            const a = (1 - fx) * (1 - fy);
            const b = fx * (1 - fy);
            const c = (1 - fx) * fy;
            const d = fx * fy;
            const codes = level.rgb8;
            red += codes[i]! * a + codes[i + 3]! * b + codes[j]! * c + codes[j + 3]! * d;
            green += codes[i + 1]! * a + codes[i + 4]! * b + codes[j + 1]! * c + codes[j + 4]! * d;
            blue += codes[i + 2]! * a + codes[i + 5]! * b + codes[j + 2]! * c + codes[j + 5]! * d;
          }
        }
        out[at] = red * weight + offset;
        out[at + 1] = green * weight + offset;
        out[at + 2] = blue * weight + offset;
      }
    }
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

function halved(from: Level): Level {
  const widthPx = from.widthPx >> 1;
  const heightPx = from.heightPx >> 1;
  const rgb8 = new Uint8Array(widthPx * heightPx * 3);
  const stride = from.widthPx * 3;
  let to = 0;
  for (let y = 0; y < heightPx; y++) {
    let at = 2 * y * stride;
    for (let x = 0; x < widthPx; x++, at += 6) {
      for (let channel = 0; channel < 3; channel++, to++) {
        const i = at + channel;
        rgb8[to] = (from.rgb8[i]! + from.rgb8[i + 3]! + from.rgb8[i + stride]! + from.rgb8[i + stride + 3]! + 2) >> 2;
      }
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
