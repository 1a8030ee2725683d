import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../samples/make/random.js';
import { medianAt, medianOf, rankedAt } from '../../worker/measure/median.js';

describe('medians and ranks of typed values', () => {
  const random = seededRandom('medians');

  it.each([1, 2, 3, 10, 501, 1000])('are those of sorting: %d values of either sign, many alike', (length) => {
    for (let round = 0; round < 20; round++) {
      const values = Float32Array.from({ length: length + 7 }, () =>
        round % 2 === 0 ? random.normal() : Math.round(3 * random.normal()) / 7,
      );
      const places = Int32Array.from({ length }, (_, k) => (5 * k + 3) % values.length);
      const chosen = Float32Array.from(places, (i) => values[i]!);
      const sorted = chosen.slice().sort();
      const median = (sorted[(length - 1) >> 1]! + sorted[length >> 1]!) / 2;
      expect(medianOf(chosen)).toBeCloseTo(median, 15);
      expect(medianAt(values, places)).toBeCloseTo(median, 15);
      const rank = Math.floor(length * random.uniform());
      expect(rankedAt(values, places, rank)).toBeCloseTo(sorted[rank]!, 15);
    }
  });

  it('are none without values', () => {
    expect(medianOf(new Float32Array(0))).toBeNull();
    expect(medianAt(Float32Array.of(1), new Int32Array(0))).toBeNull();
  });
});
