import type { Box } from '../../src/contracts/quantities.js';

export interface Area {
  /** Sum of the cells' shares, over all cells: share of the frame. */
  share: number;
  box: Box | null;
}

/**
 * The largest 4-connected area of cells whose share is at least one half.
 *
 * @param cellShare height x width, 0..1: share of a cell's pixels that count.
 * Time and memory are linear in the cells, however many areas there are.
 */
export function largestConnectedArea(cellShare: Float32Array, widthPx: number, heightPx: number): Area {
  let first = 0;
  while (first < cellShare.length && cellShare[first]! < 0.5) first++;
  if (first === cellShare.length) return { share: 0, box: null };
  const seen = new Uint8Array(cellShare.length);
  const queue = new Int32Array(cellShare.length);
  let best: { sum: number; x0: number; y0: number; x1: number; y1: number } | null = null;

  for (let start = first; start < cellShare.length; start++) {
    if (cellShare[start]! < 0.5 || seen[start] === 1) continue;
    let sum = 0;
    let x0 = widthPx;
    let y0 = heightPx;
    let x1 = 0;
    let y1 = 0;
    let head = 0;
    let tail = 1;
    queue[0] = start;
    seen[start] = 1;
    while (head < tail) {
      const i = queue[head++]!;
      const y = Math.floor(i / widthPx);
      const x = i - y * widthPx;
      sum += cellShare[i]!;
      if (x < x0) x0 = x;
      if (y < y0) y0 = y;
      if (x > x1) x1 = x;
      if (y > y1) y1 = y;
      // Left, right, above, below.
      for (let side = 0; side < 4; side++) {
        if (side === 0 ? x === 0 : side === 1 ? x + 1 === widthPx : side === 2 ? y === 0 : y + 1 === heightPx) continue;
        const next = i + (side === 0 ? -1 : side === 1 ? 1 : side === 2 ? -widthPx : widthPx);
        if (seen[next] === 1 || cellShare[next]! < 0.5) continue;
        seen[next] = 1;
        queue[tail++] = next;
      }
    }
    if (!best || sum > best.sum) best = { sum, x0, y0, x1, y1 };
  }
  if (!best) return { share: 0, box: null };
  return {
    share: Math.min(1, best.sum / cellShare.length),
    box: {
      x: best.x0 / widthPx,
      y: best.y0 / heightPx,
      width: (best.x1 + 1 - best.x0) / widthPx,
      height: (best.y1 + 1 - best.y0) / heightPx,
    },
  };
}
