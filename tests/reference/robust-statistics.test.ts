import { describe, expect, it } from 'vitest';
import {
  MAD_TO_SIGMA,
  MODIFIED_Z_OUTLIER,
  median,
  medianAbsoluteDeviation,
  modifiedZScores,
  quantile,
  robustSigma,
  trimmedMean,
  weightedMedian,
} from '../../src/photometry/robust-statistics.js';
import { theilSenLine } from '../../src/photometry/theil-sen.js';

const TEN = [0.02, -0.05, 0, 0.04, -0.03, 0.01, -0.01, 0.75, 0.03, -0.02];

describe('median and MAD', () => {
  it('ten values: median .005, MAD .025, sigma .037065 (Iglewicz & Hoaglin scheme, arithmetic)', () => {
    expect(median(TEN)).toBeCloseTo(0.005, 12);
    expect(medianAbsoluteDeviation(TEN)).toBeCloseTo(0.025, 12);
    expect(robustSigma(TEN)).toBeCloseTo(0.037065, 6);
  });
  it('the constant is 1 / quantile(0.75) of the standard normal, 0.674489750196', () =>
    expect(1 / MAD_TO_SIGMA).toBeCloseTo(0.674489750196, 12));
  it('odd and even counts, one value, none', () => {
    expect(median([3, 1, 2])).toBe(2);
    expect(median([4, 1, 2, 3])).toBe(2.5);
    expect(median([7])).toBe(7);
    expect(median([])).toBeNull();
    expect(robustSigma([])).toBeNull();
  });
  it('does not change its input, and refuses NaN', () => {
    const input = [3, 1, 2];
    median(input);
    expect(input).toEqual([3, 1, 2]);
    expect(() => median([1, Number.NaN, 2])).toThrow(/NaN/);
  });
});

describe('modified z (Iglewicz & Hoaglin 1993)', () => {
  // Their 0.6745 is printed to four digits; 1.4826 is its inverse to ten.
  it('z of .75 among the ten is 20.100, scaled once', () => expect(modifiedZScores(TEN)[7]).toBeCloseTo(20.1, 2));
  it('z of 100 among 1, 2, 3, 4, 100 is 65.427', () =>
    expect(modifiedZScores([1, 2, 3, 4, 100])[4]).toBeCloseTo(65.427, 2));
  it('MAD 0 falls back to the mean absolute deviation: 0, 0, 0, 0, 1 flags the 1', () => {
    const scores = modifiedZScores([0, 0, 0, 0, 1]);
    // mean absolute deviation 0.2, x sqrt(pi / 2)
    expect(scores[4]).toBeCloseTo(1 / (0.2 * Math.sqrt(Math.PI / 2)), 12);
    expect(scores[4] ?? 0).toBeGreaterThan(MODIFIED_Z_OUTLIER);
    expect(scores.slice(0, 4)).toEqual([0, 0, 0, 0]);
  });
  it('equal values score 0, no values give none', () => {
    expect(modifiedZScores([2, 2, 2])).toEqual([0, 0, 0]);
    expect(modifiedZScores([])).toEqual([]);
  });
});

describe('trimmed mean, quantile, weighted median', () => {
  it('drops the share at each end', () => {
    expect(trimmedMean([1, 2, 3, 4, 100], 0.2)).toBe(3);
    expect(trimmedMean([1, 2, 3], 0)).toBe(2);
    expect(trimmedMean([], 0.1)).toBeNull();
    expect(() => trimmedMean([1], 0.5)).toThrow(/trimShare/);
  });
  it('quantile of type 7 (Hyndman & Fan 1996): 1..10 at a quarter is 3.25', () => {
    const tenths = [1, 2, 3, 4, 5, 6, 7, 8, 9, 10];
    expect(quantile(tenths, 0.25)).toBe(3.25);
    expect(quantile(tenths, 0)).toBe(1);
    expect(quantile(tenths, 1)).toBe(10);
    expect(quantile([], 0.5)).toBeNull();
    expect(() => quantile(tenths, 1.1)).toThrow(/share/);
  });
  it('weighted median: textbook cases', () => {
    // Cormen et al., Introduction to Algorithms, problem 9-2: weights that sum to 1, median weight 0.35 is 0.2.
    const values = [0.1, 0.35, 0.05, 0.1, 0.15, 0.05, 0.2];
    expect(weightedMedian(values, values)).toBe(0.2);
    expect(weightedMedian([1, 2], [1, 1])).toBe(1.5);
    expect(weightedMedian([1, 2, 3], [0, 0, 5])).toBe(3);
    expect(weightedMedian([1, 2], [0, 0])).toBeNull();
    expect(() => weightedMedian([1], [1, 2])).toThrow(/weight/);
    expect(() => weightedMedian([1], [-1])).toThrow(/0 or more/);
  });
});

describe('Theil-Sen', () => {
  it('an exact line with two wild points of nine keeps its slope', () => {
    const xs = [0, 1, 2, 3, 4, 5, 6, 7, 8];
    const ys = xs.map((x) => 2 * x + 1);
    ys[3] = 100;
    ys[6] = -50;
    expect(theilSenLine(xs, ys)).toEqual({ slope: 2, intercept: 1 });
  });
  it('is the median of pair slopes: (0,0) (1,1) (2,4) has 1, 2, 3', () =>
    expect(theilSenLine([0, 1, 2], [0, 1, 4])?.slope).toBe(2));
  it('has no slope without two different x', () => {
    expect(theilSenLine([1, 1], [0, 2])).toBeNull();
    expect(theilSenLine([1], [0])).toBeNull();
    expect(() => theilSenLine([1, 2], [0])).toThrow(/as many/);
  });
});
