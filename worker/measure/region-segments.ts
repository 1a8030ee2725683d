import type { Point } from '../people/port.js';

/** Numbers a segment takes in the flat table: start x, y, extent x, y, 1 / length squared. */
const STRIDE = 5;

/** A segment's numbers. */
export function segmentOf(from: Point, to: Point): number[] {
  const dx = to.x - from.x;
  const dy = to.y - from.y;
  return [from.x, from.y, dx, dy, 1 / Math.max(1e-9, dx * dx + dy * dy)];
}

/** Line segments in one flat table, so that a pass over every pixel of a person stays cheap. */
export class Segments {
  readonly count: number;
  /** As the kernel of cells takes them. */
  readonly table: Float64Array;

  constructor(ends: readonly { from: Point; to: Point }[]) {
    this.count = ends.length;
    this.table = Float64Array.from(ends.flatMap(({ from, to }) => segmentOf(from, to)));
  }

  /** How far along segment `k` (0 at its start, 1 at its end, clamped) a point lies. */
  along(k: number, x: number, y: number): number {
    const t = this.table;
    const o = STRIDE * k;
    const along = ((x - t[o]!) * t[o + 2]! + (y - t[o + 1]!) * t[o + 3]!) * t[o + 4]!;
    return along < 0 ? 0 : along > 1 ? 1 : along;
  }

  /** Squared distance of a point to segment `k`. */
  distance2(k: number, x: number, y: number): number {
    const along = this.along(k, x, y);
    const t = this.table;
    const o = STRIDE * k;
    const ex = x - t[o]! - along * t[o + 2]!;
    const ey = y - t[o + 1]! - along * t[o + 3]!;
    return ex * ex + ey * ey;
  }
}
