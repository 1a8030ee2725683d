import type { Outline } from '../../src/contracts/quantities.js';
import { boundsOf, type Pixels } from './region-pixels.js';
import { Runs } from './runs.js';

/** Corners closer than this share of the region's diagonal to the line between their neighbours are left out. */
const SIMPLIFY_SHARE = 0.006;

/**
 * The outline of a region's largest connected part (8-connected), as a closed polygon in shares of the frame.
 * Traced by Moore-neighbour tracing with a stopping rule after Jacob (from memory), then simplified by the method of
 * Douglas and Peucker 1973 (from memory).
 * @param pixels ascending
 * @returns empty for an empty region
 */
export function outlineOf(pixels: Pixels, widthPx: number, heightPx: number): Outline {
  if (pixels.length === 0) return [];
  const runs = Runs.of(pixels, widthPx);
  const { first, parts } = largestPart(runs);
  const bounds = boundsOf(pixels, widthPx, heightPx);
  const wide = bounds.x1 - bounds.x0 + 3;
  const high = bounds.y1 - bounds.y0 + 3;
  const member = new Uint8Array(wide * high);
  const placeOf = (row: number, column: number) => (row - bounds.y0 + 1) * wide + column - bounds.x0 + 1;
  for (let run = first; run < runs.count; run++) {
    if (parts[run] !== first) continue;
    member.fill(1, placeOf(runs.rows[run]!, runs.starts[run]!), placeOf(runs.rows[run]!, runs.ends[run]!));
  }
  const start = placeOf(runs.rows[first]!, runs.starts[first]!);
  const path = traceBorder(member, wide, start);
  const tolerance = Math.max(0.6, SIMPLIFY_SHARE * Math.hypot(wide, high));
  return simplified(path, tolerance).map(([x, y]) => [
    (x + bounds.x0 - 1 + 0.5) / widthPx,
    (y + bounds.y0 - 1 + 0.5) / heightPx,
  ]);
}

/** First run of the largest 8-connected part (of those as large the first), and of each run the first of its part. */
function largestPart(runs: Runs): { first: number; parts: Int32Array } {
  const parts = runs.firstOfPart(1);
  const sizes = new Int32Array(runs.count);
  for (let run = 0; run < runs.count; run++) sizes[parts[run]!]! += runs.ends[run]! - runs.starts[run]!;
  let first = 0;
  for (let run = 1; run < runs.count; run++) if (sizes[run]! > sizes[first]!) first = run;
  return { first, parts };
}

function traceBorder(member: Uint8Array, wide: number, start: number): [number, number][] {
  // Clockwise from west; the first cell of the first row has nothing to its west.
  const around = [-1, -wide - 1, -wide, -wide + 1, 1, wide + 1, wide, wide - 1];
  const path: [number, number][] = [];
  let cell = start;
  let from = 0;
  let first = -1;
  for (let guard = 0; guard < member.length * 8; guard++) {
    let turn = 0;
    while (turn < 8 && !member[cell + around[(from + turn) % 8]!]) turn++;
    if (turn === 8) return [[cell % wide, Math.floor(cell / wide)]];
    const direction = (from + turn) % 8;
    // Back at the start and about to leave it as at first: once around.
    if (cell === start && direction === first) break;
    if (first < 0) first = direction;
    path.push([cell % wide, Math.floor(cell / wide)]);
    cell += around[direction]!;
    // Go on from the neighbour that was seen empty just before, as seen from the new cell.
    from = (direction + (direction % 2 === 0 ? 6 : 5)) % 8;
  }
  return path;
}

function simplified(path: readonly [number, number][], tolerance: number): [number, number][] {
  if (path.length < 4) return [...path];
  // A closed path is split at the corner farthest from its first.
  let far = 0;
  let farthest = -1;
  path.forEach(([x, y], i) => {
    const d = Math.hypot(x - path[0]![0], y - path[0]![1]);
    if (d > farthest) {
      farthest = d;
      far = i;
    }
  });
  const closed = [...path, path[0]!];
  const keep = new Uint8Array(closed.length);
  keep[0] = keep[far] = keep[closed.length - 1] = 1;
  const spans: [number, number][] = [
    [0, far],
    [far, closed.length - 1],
  ];
  for (let span = spans.pop(); span !== undefined; span = spans.pop()) {
    const [a, b] = span;
    let worst = -1;
    let at = -1;
    for (let i = a + 1; i < b; i++) {
      const d = distanceToSegment(closed[i]!, closed[a]!, closed[b]!);
      if (d > worst) {
        worst = d;
        at = i;
      }
    }
    if (worst <= tolerance) continue;
    keep[at] = 1;
    spans.push([a, at], [at, b]);
  }
  return closed.slice(0, -1).filter((_, i) => keep[i] === 1);
}

function distanceToSegment(
  p: readonly [number, number],
  a: readonly [number, number],
  b: readonly [number, number],
): number {
  const dx = b[0] - a[0];
  const dy = b[1] - a[1];
  const length2 = dx * dx + dy * dy;
  const t = length2 === 0 ? 0 : Math.max(0, Math.min(1, ((p[0] - a[0]) * dx + (p[1] - a[1]) * dy) / length2));
  return Math.hypot(p[0] - a[0] - t * dx, p[1] - a[1] - t * dy);
}
