import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { slopeWithinGroups } from '../../src/photometry/slope-within-groups.js';
import { theilSenLine } from '../../src/photometry/theil-sen.js';

const ys = fc.array(fc.double({ min: -5, max: 5, noNaN: true }), { minLength: 4, maxLength: 30 });

describe('slopeWithinGroups', () => {
  it('is the Theil-Sen slope for one group', () => {
    fc.assert(
      fc.property(ys, (values) => {
        const xs = values.map((_, i) => i);
        expect(slopeWithinGroups([{ xs, ys: values }])?.slope).toBeCloseTo(theilSenLine(xs, values)?.slope ?? NaN, 10);
      }),
      { seed: 16 },
    );
  });

  it('does not mind how far the groups stand apart', () => {
    fc.assert(
      fc.property(ys, ys, fc.double({ min: -50, max: 50, noNaN: true }), (a, b, apart) => {
        const groupOf = (values: number[], plus: number) => ({
          xs: values.map((_, i) => i),
          ys: values.map((y) => y + plus),
        });
        const together = slopeWithinGroups([groupOf(a, 0), groupOf(b, 0)]);
        const moved = slopeWithinGroups([groupOf(a, 0), groupOf(b, apart)]);
        expect(moved?.slope).toBeCloseTo(together?.slope ?? NaN, 8);
        expect(moved?.standardError).toBeCloseTo(together?.standardError ?? NaN, 8);
      }),
      { seed: 16 },
    );
  });

  it('has no error on a straight line, and tells too few points and lengths that differ', () => {
    const line = slopeWithinGroups([{ xs: [0, 1, 2, 3], ys: [1, 3, 5, 7] }]);
    expect(line).toEqual({ slope: 2, standardError: 0, pairs: 6 });
    expect(slopeWithinGroups([{ xs: [0, 1], ys: [1, 3] }])).toBeNull();
    expect(() => slopeWithinGroups([{ xs: [0], ys: [] }])).toThrow(/as many ys as xs/);
  });

  it('states an error that holds the true slope in about two of three', () => {
    let inside = 0;
    const runs = 400;
    let state = 12345;
    const uniform = (): number => {
      state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
      return state / 2 ** 32;
    };
    const normal = (): number => Math.sqrt(-2 * Math.log(1 - uniform())) * Math.cos(2 * Math.PI * uniform());
    for (let run = 0; run < runs; run++) {
      const xs = Array.from({ length: 24 }, (_, i) => i);
      const found = slopeWithinGroups([{ xs, ys: xs.map((x) => 0.3 * x + normal()) }]);
      if (found !== null && Math.abs(found.slope - 0.3) <= found.standardError) inside++;
    }
    expect(inside / runs).toBeGreaterThan(0.58);
    expect(inside / runs).toBeLessThan(0.78);
  });
});
