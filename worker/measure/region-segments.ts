import type { Point } from '../people/port.js';

/** A line segment as the kernel of cells takes it: start x, y, extent x, y, 1 / length squared. */
export function segmentOf(from: Point, to: Point): number[] {
  const dx = to.x - from.x;
  const dy = to.y - from.y;
  return [from.x, from.y, dx, dy, 1 / Math.max(1e-9, dx * dx + dy * dy)];
}
