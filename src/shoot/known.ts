import { MAD_TO_SIGMA, median, robustSigma } from '../photometry/robust-statistics.js';

/** Statistics over values of which some are unknown (null); the unknown ones take no part. */
export type Unknown = number | null;

export function known(values: readonly Unknown[]): number[] {
  return values.filter((value): value is number => value !== null);
}

/** Median of the known values; null without any. */
export function medianKnown(values: readonly Unknown[]): number | null {
  return median(known(values));
}

/** Robust standard deviation of the known values; null under two. */
export function spreadKnown(values: readonly Unknown[]): number | null {
  const list = known(values);
  return list.length < 2 ? null : robustSigma(list);
}

/** Robust standard deviation of one value, from the differences of neighbours: blind to steps and slow drift. */
export function neighbourSpread(values: readonly Unknown[]): number | null {
  const list = known(values);
  if (list.length < 3) return null;
  const middle = median(list.slice(1).map((value, i) => Math.abs(value - (list[i] as number))));
  return middle === null ? null : (MAD_TO_SIGMA * middle) / Math.SQRT2;
}

export function difference(a: Unknown, b: Unknown): number | null {
  return a === null || b === null ? null : a - b;
}

/** For reports: four decimals are far below what can be measured, and -0 is 0. */
export function rounded(value: Unknown, decimals = 4): number | null {
  if (value === null || !Number.isFinite(value)) return null;
  const scale = 10 ** decimals;
  return Math.round(value * scale) / scale + 0;
}
