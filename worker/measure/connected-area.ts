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
  const counts = (i: number) => cellShare[i]! >= 0.5 && seen[i] === 0;
  let best: { sum: number; x0: number; y0: number; x1: number; y1: number } | null = null;

  for (let start = first; start < cellShare.length; start++) {
    if (cellShare[start]! < 0.5 || seen[start] === 1) continue;
    const area = { sum: 0, x0: widthPx, y0: heightPx, x1: 0, y1: 0 };
    let head = 0;
    let tail = 0;
    const push = (i: number) => {
      seen[i] = 1;
      queue[tail++] = i;
    };
    push(start);
    while (head < tail) {
      const i = queue[head++]!;
      const x = i % widthPx;
      const y = (i - x) / widthPx;
      area.sum += cellShare[i]!;
      area.x0 = Math.min(area.x0, x);
      area.y0 = Math.min(area.y0, y);
      area.x1 = Math.max(area.x1, x);
      area.y1 = Math.max(area.y1, y);
      if (x > 0 && counts(i - 1)) push(i - 1);
      if (x + 1 < widthPx && counts(i + 1)) push(i + 1);
      if (y > 0 && counts(i - widthPx)) push(i - widthPx);
      if (y + 1 < heightPx && counts(i + widthPx)) push(i + widthPx);
    }
    if (!best || area.sum > best.sum) best = area;
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
