import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { leastSquaresCost, pelt } from '../../src/photometry/pelt.js';
import {
  median,
  modifiedZScores,
  robustSigma,
  trimmedMean,
  weightedMedian,
} from '../../src/photometry/robust-statistics.js';
import { theilSenLine } from '../../src/photometry/theil-sen.js';

const value = fc.double({ min: -10, max: 10, noNaN: true });
const values = fc.array(value, { minLength: 1, maxLength: 40 });

describe('robust statistics', () => {
  it('a flat patch has no spread', () => {
    fc.assert(
      fc.property(value, fc.integer({ min: 1, max: 30 }), (level, count) => {
        const flat = Array<number>(count).fill(level);
        expect(median(flat)).toBe(level);
        expect(robustSigma(flat)).toBe(0);
        expect(modifiedZScores(flat).every((z) => z === 0)).toBe(true);
      }),
    );
  });
  it('order does not matter; a shift moves the centre and not the spread', () => {
    fc.assert(
      fc.property(values, value, (list, shift) => {
        const reversed = [...list].reverse();
        const moved = list.map((x) => x + shift);
        expect(median(reversed)).toBe(median(list));
        expect(trimmedMean(reversed, 0.1)).toBeCloseTo(trimmedMean(list, 0.1) ?? 0, 12);
        expect(median(moved)).toBeCloseTo((median(list) ?? 0) + shift, 9);
        expect(robustSigma(moved)).toBeCloseTo(robustSigma(list) ?? 0, 9);
      }),
    );
  });
  it('equal weights give the median; a whole weight is a repetition', () => {
    fc.assert(
      fc.property(values, fc.integer({ min: 1, max: 4 }), (list, weight) => {
        expect(
          weightedMedian(
            list,
            list.map(() => weight),
          ),
        ).toBeCloseTo(median(list) ?? 0, 9);
        const weights = list.map((_, index) => (index % 3) + 1);
        const repeated = list.flatMap((x, index) => Array<number>(weights[index] ?? 0).fill(x));
        expect(weightedMedian(list, weights)).toBeCloseTo(median(repeated) ?? 0, 9);
      }),
    );
  });
  it('Theil-Sen finds an exact line', () => {
    fc.assert(
      fc.property(
        value,
        value,
        fc.uniqueArray(fc.integer({ min: -50, max: 50 }), { minLength: 2, maxLength: 12 }),
        (a, b, xs) => {
          const line = theilSenLine(
            xs,
            xs.map((x) => a * x + b),
          );
          expect(line?.slope).toBeCloseTo(a, 6);
          expect(line?.intercept).toBeCloseTo(b, 6);
        },
      ),
    );
  });
});

/** Least cost over all segmentations, by trying every one: what PELT must equal. */
function leastByTrying(columns: (number | null)[][], penalty: number, minimumRows: number): number {
  const rows = columns[0]?.length ?? 0;
  const cost = leastSquaresCost(columns);
  if (rows < 2 * minimumRows) return cost(0, rows);
  let least = Infinity;
  for (let cuts = 0; cuts < 2 ** (rows - 1); cuts += 1) {
    const edges = [0];
    for (let at = 1; at < rows; at += 1) if ((cuts >> (at - 1)) & 1) edges.push(at);
    edges.push(rows);
    let total = penalty * (edges.length - 2);
    for (let index = 1; index < edges.length; index += 1) {
      const [from, to] = [edges[index - 1] ?? 0, edges[index] ?? 0];
      total += to - from < minimumRows ? Infinity : cost(from, to);
    }
    least = Math.min(least, total);
  }
  return least;
}

describe('PELT is exact', () => {
  const cell = fc.option(fc.double({ min: -3, max: 3, noNaN: true }), { nil: null, freq: 6 });
  const table = fc
    .tuple(fc.integer({ min: 1, max: 9 }), fc.integer({ min: 1, max: 3 }))
    .chain(([rows, columns]) =>
      fc.array(fc.array(cell, { minLength: rows, maxLength: rows }), { minLength: columns, maxLength: columns }),
    );
  it('equals the best of all segmentations: several signals, missing values, any minimum length', () => {
    fc.assert(
      fc.property(
        table,
        fc.double({ min: 0, max: 6, noNaN: true }),
        fc.integer({ min: 1, max: 4 }),
        (columns, penalty, minimumRows) => {
          const rows = columns[0]?.length ?? 0;
          const cost = leastSquaresCost(columns);
          const found = pelt({ rows, cost, penalty, minimumRows });
          expect(found.objective).toBeCloseTo(leastByTrying(columns, penalty, minimumRows), 8);
          const edges = [0, ...found.changePoints, rows];
          const parts = edges.slice(1).map((to, index) => [edges[index] ?? 0, to] as const);
          expect(
            parts.reduce((sum, [from, to]) => sum + cost(from, to), penalty * found.changePoints.length),
          ).toBeCloseTo(found.objective, 8);
          if (rows >= minimumRows)
            for (const [from, to] of parts) expect(to - from).toBeGreaterThanOrEqual(minimumRows);
        },
      ),
      { numRuns: 300 },
    );
  });
});
