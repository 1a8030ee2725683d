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
  // The first `open` of these are still candidates for the last change before t, ascending.
  const candidates = new Int32Array(rows + 1);
  const bounds = new Float64Array(rows + 1);
  let open = 0;

  for (let t = minimumRows; t <= rows; t += 1) {
    const newest = t - minimumRows;
    if (newest === 0 || newest >= minimumRows) candidates[open++] = newest;
    let least = Infinity;
    let kept = 0;
    for (let index = 0; index < open; index += 1) {
      const s = candidates[index] as number;
      if (t >= (dropAt[s] as number)) continue;
      const withoutPenalty = (best[s] as number) + cost(s, t);
      candidates[kept] = s;
      bounds[kept] = withoutPenalty;
      kept += 1;
      if (withoutPenalty + penalty < least) {
        least = withoutPenalty + penalty;
        lastChange[t] = s;
      }
    }
    open = kept;
    best[t] = least;
    for (let index = 0; index < open; index += 1) {
      const s = candidates[index] as number;
      if ((bounds[index] as number) + pruningConstant >= least && dropAt[s] === Infinity) dropAt[s] = t + minimumRows;
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
  const width = columns.length;
  // Running sums, row after row; squares of all columns go into one.
  const counts = new Float64Array((rows + 1) * width);
  const sums = new Float64Array((rows + 1) * width);
  const squares = new Float64Array(rows + 1);
  for (const [column, values] of columns.entries()) {
    const centre = centreOf(values, rows);
    for (const [row, value] of values.entries()) {
      const [from, to] = [row * width + column, (row + 1) * width + column];
      const centred = value === null ? 0 : value - centre;
      counts[to] = (counts[from] as number) + (value === null ? 0 : 1);
      sums[to] = (sums[from] as number) + centred;
      squares[row + 1] = (squares[row + 1] as number) + centred * centred;
    }
  }
  for (let row = 0; row < rows; row += 1) squares[row + 1] = (squares[row + 1] as number) + (squares[row] as number);

  return (start, end) => {
    let cost = (squares[end] as number) - (squares[start] as number);
    const from = start * width;
    const to = end * width;
    for (let column = 0; column < width; column += 1) {
      const used = (counts[to + column] as number) - (counts[from + column] as number);
      if (used === 0) continue;
      const total = (sums[to + column] as number) - (sums[from + column] as number);
      cost -= (total * total) / used;
    }
    // Rounding can leave a flat segment a hair below 0.
    return cost > 0 ? cost : 0;
  };
}

/** The column's mean, about which its sums are taken, so that a large offset costs no digits. */
function centreOf(values: readonly (number | null)[], rows: number): number {
  if (values.length !== rows)
    throw new StopledgerError(
      'quantity-out-of-range',
      `Expected columns of one length but received ${values.length} and ${rows}`,
    );
  const present = values.filter((value) => value !== null);
  if (!present.every(Number.isFinite))
    throw new StopledgerError('quantity-out-of-range', 'Expected finite numbers or null in the signals');
  return present.length === 0 ? 0 : present.reduce((sum, value) => sum + value, 0) / present.length;
}
