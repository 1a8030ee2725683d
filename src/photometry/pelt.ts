import { StopledgerError } from '../errors.js';

/** Cost of leaving rows start (included) to end (not included) in one segment; start < end. */
export type SegmentCost = (start: number, end: number) => number;

export interface Segmentation {
  /** Index of the first row of every segment but the first, ascending; empty when nothing changes. */
  changePoints: number[];
  /** Sum of the segments' costs and one penalty for each change point. */
  objective: number;
}

export interface PeltOptions {
  rows: number;
  cost: SegmentCost;
  /** Added for each change point, 0 or more, in the cost's unit. */
  penalty: number;
  /** Fewest rows of a segment, 1 unless said. */
  minimumRows?: number;
  /** The constant K of cost(a, b) + cost(b, c) + K <= cost(a, c); 0 for least squares. */
  pruningConstant?: number;
}

/**
 * Exact segmentation with the least total cost: PELT (Killick, Fearnhead & Eckley 2012, J. Am. Stat. Assoc.
 * 107:1590). F(t) = min over s of F(s) + cost(s, t) + penalty; s is dropped for good once
 * F(s) + cost(s, t) + K >= F(t), but only from the t onwards at which a segment starting at t could end, so
 * that a minimum length keeps the result exact.
 *
 * @throws quantity-out-of-range for a negative penalty, or a minimum below 1.
 */
export function pelt({ rows, cost, penalty, minimumRows = 1, pruningConstant = 0 }: PeltOptions): Segmentation {
  if (!(penalty >= 0))
    throw new StopledgerError('quantity-out-of-range', `Expected 0 or more for penalty but received ${penalty}`);
  if (!Number.isInteger(minimumRows) || minimumRows < 1)
    throw new StopledgerError(
      'quantity-out-of-range',
      `Expected 1 or more for minimumRows but received ${minimumRows}`,
    );
  if (rows < 1) return { changePoints: [], objective: 0 };
  if (rows < 2 * minimumRows) return { changePoints: [], objective: cost(0, rows) };

  // best[t]: least cost of rows 0..t, with one penalty too few taken off at the start.
  const best = new Float64Array(rows + 1).fill(Infinity);
  best[0] = -penalty;
  const lastChange = new Int32Array(rows + 1);
  const dropAt = new Float64Array(rows + 1).fill(Infinity);
  let candidates: number[] = [];

  for (let t = minimumRows; t <= rows; t += 1) {
    const newest = t - minimumRows;
    if (newest === 0 || newest >= minimumRows) candidates.push(newest);
    candidates = candidates.filter((s) => t < (dropAt[s] as number));
    const segmentCosts = candidates.map((s) => cost(s, t));
    for (const [index, s] of candidates.entries()) {
      const total = (best[s] as number) + (segmentCosts[index] as number) + penalty;
      if (total < (best[t] as number)) {
        best[t] = total;
        lastChange[t] = s;
      }
    }
    for (const [index, s] of candidates.entries()) {
      const bound = (best[s] as number) + (segmentCosts[index] as number) + pruningConstant;
      if (bound >= (best[t] as number)) dropAt[s] = Math.min(dropAt[s] as number, t + minimumRows);
    }
  }

  const changePoints: number[] = [];
  for (let t = lastChange[rows] as number; t > 0; t = lastChange[t] as number) changePoints.unshift(t);
  return { changePoints, objective: best[rows] as number };
}

/**
 * Least-squares cost over several signals at once: the sum over the columns of the squared deviations from the
 * segment's own mean. Scale each column by its noise first, so that they count alike. A missing value (null) takes no
 * part in its column's mean or cost; pruning stays exact (K = 0).
 *
 * @param columns one array a signal, all of the same length: rows x 1 value.
 * @throws quantity-out-of-range for columns of unequal length or values that are not finite.
 */
export function leastSquaresCost(columns: readonly (readonly (number | null)[])[]): SegmentCost {
  const rows = columns[0]?.length ?? 0;
  const sums = columns.map((column) => {
    if (column.length !== rows)
      throw new StopledgerError(
        'quantity-out-of-range',
        `Expected columns of one length but received ${column.length} and ${rows}`,
      );
    return prefixSums(column);
  });
  return (start, end) => {
    let cost = 0;
    for (const { count, sum, square } of sums) {
      const used = (count[end] as number) - (count[start] as number);
      if (used < 2) continue;
      const total = (sum[end] as number) - (sum[start] as number);
      cost += Math.max(0, (square[end] as number) - (square[start] as number) - (total * total) / used);
    }
    return cost;
  };
}

/** Running sums, taken about the column's mean so that a large offset costs no digits. */
function prefixSums(column: readonly (number | null)[]) {
  const present = column.filter((value) => value !== null);
  if (!present.every(Number.isFinite))
    throw new StopledgerError('quantity-out-of-range', 'Expected finite numbers or null in the signals');
  const mean = present.length === 0 ? 0 : present.reduce((sum, value) => sum + value, 0) / present.length;
  const count = new Float64Array(column.length + 1);
  const sum = new Float64Array(column.length + 1);
  const square = new Float64Array(column.length + 1);
  for (const [index, value] of column.entries()) {
    const centred = value === null ? 0 : value - mean;
    count[index + 1] = (count[index] as number) + (value === null ? 0 : 1);
    sum[index + 1] = (sum[index] as number) + centred;
    square[index + 1] = (square[index] as number) + centred * centred;
  }
  return { count, sum, square };
}
