import type { Box } from '../../src/contracts/quantities.js';
import { Runs } from './runs.js';

export interface Area {
  /** Sum of the cells' shares, over all cells: share of the frame. */
  share: number;
  box: Box | null;
}

/** Bits of the 32-bit float 0.5: of floats that are not negative, larger ones have larger bits. */
const HALF_BITS = 0x3f000000;

/**
 * The largest 4-connected area of cells whose share is at least one half; of several as large the first.
 *
 * @param cellShare height x width, 0..1: share of a cell's pixels that count.
 * Time is linear in the cells and nearly so in the runs of such cells, memory linear in the runs.
 */
export function largestConnectedArea(cellShare: Float32Array, widthPx: number, heightPx: number): Area {
  const runs = runsFromHalf(cellShare, widthPx, heightPx);
  if (runs.count === 0) return { share: 0, box: null };
  const parts = runs.firstOfPart(0);
  const sums = new Float64Array(runs.count);
  for (let run = 0; run < runs.count; run++) {
    const row = runs.rows[run]! * widthPx;
    for (let i = row + runs.starts[run]!, end = row + runs.ends[run]!; i < end; i++)
      sums[parts[run]!]! += cellShare[i]!;
  }
  let best = 0;
  for (let run = 1; run < runs.count; run++) if (sums[run]! > sums[best]!) best = run;
  let [x0, x1, y1] = [widthPx, 0, 0];
  for (let run = best; run < runs.count; run++) {
    if (parts[run] !== best) continue;
    x0 = Math.min(x0, runs.starts[run]!);
    x1 = Math.max(x1, runs.ends[run]!);
    y1 = runs.rows[run]! + 1;
  }
  const y0 = runs.rows[best]!;
  return {
    share: Math.min(1, sums[best]! / cellShare.length),
    box: { x: x0 / widthPx, y: y0 / heightPx, width: (x1 - x0) / widthPx, height: (y1 - y0) / heightPx },
  };
}

function runsFromHalf(cellShare: Float32Array, widthPx: number, heightPx: number): Runs {
  const bits = new Int32Array(cellShare.buffer, cellShare.byteOffset, cellShare.length);
  const runs = new Runs();
  for (let y = 0, i = 0; y < heightPx; y++) {
    const row = i;
    const end = row + widthPx;
    while (i < end) {
      while (i < end && bits[i]! < HALF_BITS) i++;
      if (i === end) break;
      const start = i;
      while (i < end && bits[i]! >= HALF_BITS) i++;
      runs.push(y, start - row, i - row);
    }
  }
  return runs;
}
