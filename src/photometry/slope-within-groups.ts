import { StopledgerError } from '../errors.js';
import { median } from './robust-statistics.js';

/** Points of one group; x ascending or not, in any unit. */
export interface SlopeGroup {
  xs: readonly number[];
  ys: readonly number[];
}

export interface SlopeWithError {
  slope: number;
  /** Half of the width of the slope's 68 % confidence interval. */
  standardError: number;
  /** Pairs of points that it rests on. */
  pairs: number;
}

/**
 * Robust slope common to several groups whose levels may differ at will: the median of the slopes of all pairs inside the
 * groups (Theil 1950, Sen 1968 for one group; Hirsch, Slack & Smith 1982, Water Resour. Res. 18:107, for groups: the
 * seasonal Kendall slope). Its error is half of Sen's 68 % interval: of the N sorted slopes the (N - C) / 2-th and the
 * (N + C) / 2-th, C = sqrt of the sum of n (n - 1) (2n + 5) / 18, the variance of Kendall's S without ties. Formulas
 * from memory.
 *
 * @returns null with fewer than three pairs of different x
 * @throws quantity-out-of-range when xs and ys of a group differ in length
 * @example slopeWithinGroups([{ xs: [0, 1, 2], ys: [0, 1, 2] }, { xs: [0, 1], ys: [7, 8] }])?.slope === 1
 */
export function slopeWithinGroups(groups: readonly SlopeGroup[]): SlopeWithError | null {
  const slopes: number[] = [];
  let variance = 0;
  for (const { xs, ys } of groups) {
    if (xs.length !== ys.length)
      throw new StopledgerError(
        'quantity-out-of-range',
        `Expected as many ys as xs but received ${ys.length} for ${xs.length}`,
      );
    const n = xs.length;
    variance += (n * (n - 1) * (2 * n + 5)) / 18;
    for (let i = 0; i < n; i++)
      for (let j = i + 1; j < n; j++) {
        const run = (xs[j] as number) - (xs[i] as number);
        if (run !== 0) slopes.push(((ys[j] as number) - (ys[i] as number)) / run);
      }
  }
  if (slopes.length < 3) return null;
  const sorted = Float64Array.from(slopes).sort();
  const reach = Math.sqrt(variance);
  const at = (rank: number): number => sorted[Math.min(sorted.length - 1, Math.max(0, Math.round(rank)))] as number;
  const low = at((sorted.length - reach) / 2 - 0.5);
  const high = at((sorted.length + reach) / 2 - 0.5);
  return { slope: median(slopes) as number, standardError: (high - low) / 2, pairs: sorted.length };
}
