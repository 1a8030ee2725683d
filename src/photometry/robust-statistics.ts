import { StopledgerError } from '../errors.js';

/** MAD of a normal distribution -> its standard deviation: 1 / quantile(0.75) of the standard normal. */
export const MAD_TO_SIGMA = 1.482602218505602;

/** Mean absolute deviation of a normal distribution -> its standard deviation: sqrt(pi / 2). */
const MEAN_AD_TO_SIGMA = Math.sqrt(Math.PI / 2);

/** |modified z| above which a value counts as an outlier (Iglewicz & Hoaglin 1993, via the NIST e-Handbook 1.3.5.17). */
export const MODIFIED_Z_OUTLIER = 3.5;

/**
 * Middle value; the mean of the two middle ones for an even count. Null for no values.
 *
 * @throws quantity-out-of-range when a value is NaN.
 */
export function median(values: readonly number[]): number | null {
  if (values.length === 0) return null;
  const sorted = sortedCopy(values);
  const upper = sorted.length >> 1;
  const high = sorted[upper] as number;
  return sorted.length % 2 === 1 ? high : ((sorted[upper - 1] as number) + high) / 2;
}

/**
 * Value at a share (0..1) of the sorted values, interpolated linearly between neighbours (Hyndman & Fan 1996,
 * type 7). Null for no values.
 */
export function quantile(values: readonly number[], share: number): number | null {
  if (!(share >= 0 && share <= 1))
    throw new StopledgerError('quantity-out-of-range', `Expected 0 to 1 for share but received ${share}`);
  if (values.length === 0) return null;
  const sorted = sortedCopy(values);
  const position = share * (sorted.length - 1);
  const below = Math.floor(position);
  const low = sorted[below] as number;
  const high = sorted[Math.min(below + 1, sorted.length - 1)] as number;
  return low + (position - below) * (high - low);
}

/** Median absolute deviation from the median, unscaled. Null for no values. */
export function medianAbsoluteDeviation(values: readonly number[]): number | null {
  const centre = median(values);
  return centre === null ? null : median(values.map((value) => Math.abs(value - centre)));
}

/** Robust standard deviation: 1.4826 x MAD (Hampel 1974; constant is 1 / 0.6745). Null for no values. */
export function robustSigma(values: readonly number[]): number | null {
  const mad = medianAbsoluteDeviation(values);
  return mad === null ? null : MAD_TO_SIGMA * mad;
}

/**
 * Mean of what is left after dropping `trimShare` of the values (rounded down) at EACH end. Null for no values.
 *
 * @throws quantity-out-of-range unless trimShare is 0 or more and below 0.5.
 */
export function trimmedMean(values: readonly number[], trimShare: number): number | null {
  if (!(trimShare >= 0 && trimShare < 0.5))
    throw new StopledgerError(
      'quantity-out-of-range',
      `Expected 0 to below 0.5 for trimShare but received ${trimShare}`,
    );
  if (values.length === 0) return null;
  const sorted = sortedCopy(values);
  const cut = Math.floor(sorted.length * trimShare);
  const kept = sorted.slice(cut, sorted.length - cut);
  return kept.reduce((sum, value) => sum + value, 0) / kept.length;
}

/**
 * The value at which half of the weight is reached: the lower weighted median, or the mean of two neighbours
 * when exactly half lies at or below the lower one. Equal weights give `median`. Null when no weight is above 0.
 *
 * @throws quantity-out-of-range for unequal lengths or negative weights.
 */
export function weightedMedian(values: readonly number[], weights: readonly number[]): number | null {
  if (values.length !== weights.length)
    throw new StopledgerError(
      'quantity-out-of-range',
      `Expected one weight for each value but received ${weights.length} weights for ${values.length} values`,
    );
  const pairs = values.map((value, index) => ({ value, weight: weights[index] as number }));
  if (pairs.some(({ value, weight }) => Number.isNaN(value) || !(weight >= 0)))
    throw new StopledgerError('quantity-out-of-range', 'Expected numbers with weights of 0 or more');
  const used = pairs.filter(({ weight }) => weight > 0).sort((a, b) => a.value - b.value);
  const half = used.reduce((sum, { weight }) => sum + weight, 0) / 2;
  let reached = 0;
  for (const [index, { value, weight }] of used.entries()) {
    reached += weight;
    if (Math.abs(reached - half) <= 1e-12 * half) return (value + (used[index + 1]?.value ?? value)) / 2;
    if (reached > half) return value;
  }
  return null;
}

/**
 * Modified z-score of every value: (x - median) / (1.4826 MAD), which is 0.6745 (x - median) / MAD (Iglewicz & Hoaglin
 * 1993). Scaled once only. When more than half of the values are equal the MAD is 0 and the mean absolute
 * deviation takes its place, x 1.2533 (sqrt(pi/2)); when that is 0 too, all values are equal and every score is 0.
 */
export function modifiedZScores(values: readonly number[]): number[] {
  const centre = median(values);
  if (centre === null) return [];
  const sigma =
    MAD_TO_SIGMA * (medianAbsoluteDeviation(values) ?? 0) ||
    (MEAN_AD_TO_SIGMA * values.reduce((sum, value) => sum + Math.abs(value - centre), 0)) / values.length;
  return values.map((value) => (sigma === 0 ? 0 : (value - centre) / sigma));
}

function sortedCopy(values: readonly number[]): Float64Array {
  const sorted = Float64Array.from(values).sort();
  // NaN sorts last.
  if (Number.isNaN(sorted[sorted.length - 1]))
    throw new StopledgerError('quantity-out-of-range', 'Expected numbers but received NaN among the values');
  return sorted;
}
