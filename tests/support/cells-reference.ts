import type { CropSource, SquareRegion } from '../../worker/people/crop.js';
import type { Point } from '../../worker/people/port.js';

/** What the kernel of cells must give, by plain loops in doubles. */

/** The mean of one or two by two bilinear samples a pixel of a square, from the picture itself. */
export function cropPlainly(
  rgb8: Uint8Array,
  { widthPx, heightPx }: Pick<CropSource, 'widthPx' | 'heightPx'>,
  region: SquareRegion,
  size: number,
): Float64Array {
  const step = region.sidePx / size;
  const out = new Float64Array(size * size * 3);
  const offsets = step > 1.2 ? [-0.25, 0.25] : [0];
  const codeAt = (x: number, y: number, c: number) => rgb8[(y * widthPx + x) * 3 + c]!;
  for (let y = 0; y < size; y++)
    for (let x = 0; x < size; x++)
      for (const sy of offsets)
        for (const sx of offsets) {
          const dx = (x - (size - 1) / 2 + sx) * step;
          const dy = (y - (size - 1) / 2 + sy) * step;
          const px = region.centre.x + Math.cos(region.turn) * dx - Math.sin(region.turn) * dy - 0.5;
          const py = region.centre.y + Math.sin(region.turn) * dx + Math.cos(region.turn) * dy - 0.5;
          if (px < 0 || py < 0 || px >= widthPx - 1 || py >= heightPx - 1) continue;
          const [x0, y0] = [Math.floor(px), Math.floor(py)];
          const [fx, fy] = [px - x0, py - y0];
          for (let c = 0; c < 3; c++) {
            const top = codeAt(x0, y0, c) * (1 - fx) + codeAt(x0 + 1, y0, c) * fx;
            const bottom = codeAt(x0, y0 + 1, c) * (1 - fx) + codeAt(x0 + 1, y0 + 1, c) * fx;
            out[(y * size + x) * 3 + c]! += (top * (1 - fy) + bottom * fy) / offsets.length ** 2;
          }
        }
  return out;
}

/** The logit at a pixel of a painted mask; null outside the square. */
export function paintedPlainly(logits: Float32Array, side: number, region: SquareRegion, x: number, y: number) {
  const [dx, dy] = [x + 0.5 - region.centre.x, y + 0.5 - region.centre.y];
  const scale = side / region.sidePx;
  const u = (dx * Math.cos(region.turn) + dy * Math.sin(region.turn)) * scale + side / 2 - 0.5;
  const v = (dy * Math.cos(region.turn) - dx * Math.sin(region.turn)) * scale + side / 2 - 0.5;
  if (u < 0 || v < 0 || u >= side - 1 || v >= side - 1) return null;
  const [u0, v0] = [Math.floor(u), Math.floor(v)];
  const [fu, fv] = [u - u0, v - v0];
  const at = (column: number, row: number) => logits[row * side + column]!;
  const top = at(u0, v0) * (1 - fu) + at(u0 + 1, v0) * fu;
  const bottom = at(u0, v0 + 1) * (1 - fu) + at(u0 + 1, v0 + 1) * fu;
  return top * (1 - fv) + bottom * fv;
}

/** Distance of a point to a line that ends at `from` and `to`. */
export function distancePlainly(from: Point, to: Point, p: Point): number {
  const length2 = (to.x - from.x) ** 2 + (to.y - from.y) ** 2;
  const along = ((p.x - from.x) * (to.x - from.x) + (p.y - from.y) * (to.y - from.y)) / length2;
  const t = Math.max(0, Math.min(1, along));
  return Math.hypot(p.x - from.x - t * (to.x - from.x), p.y - from.y - t * (to.y - from.y));
}
