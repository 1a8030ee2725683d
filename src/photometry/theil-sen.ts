import { StopledgerError } from '../errors.js';
import { median } from './robust-statistics.js';

export interface Line {
  slope: number;
  intercept: number;
}

/**
 * Robust straight line (Theil 1950, Sen 1968): the slope is the median of the slopes of all pairs with
 * different x; the intercept the median of y - slope x. Up to 29 % of wild points do not move it.
 *
 * @returns null with fewer than two different x.
 * @throws quantity-out-of-range when xs and ys differ in length.
 */
export function theilSenLine(xs: readonly number[], ys: readonly number[]): Line | null {
  if (xs.length !== ys.length)
    throw new StopledgerError(
      'quantity-out-of-range',
      `Expected as many ys as xs but received ${ys.length} for ${xs.length}`,
    );
  const slopes: number[] = [];
  for (const [i, x] of xs.entries())
    for (let j = i + 1; j < xs.length; j += 1) {
      const run = (xs[j] as number) - x;
      if (run !== 0) slopes.push(((ys[j] as number) - (ys[i] as number)) / run);
    }
  const slope = median(slopes);
  if (slope === null) return null;
  const intercept = median(ys.map((y, index) => y - slope * (xs[index] as number)));
  return intercept === null ? null : { slope, intercept };
}
