import { describe, expect, it } from 'vitest';
import {
  difference,
  known,
  medianKnown,
  medianOf,
  middleOf,
  neighbourSpread,
  once,
  rounded,
  spreadKnown,
} from '../../../src/shoot/known.js';

describe('statistics of which some values are unknown', () => {
  it('leave the unknown ones out', () => {
    expect(known([1, null, 2])).toEqual([1, 2]);
    expect(medianKnown([3, null, 1, 2])).toBe(2);
    expect(medianKnown([4, 1, 2, 3])).toBe(2.5);
    expect(medianKnown([null])).toBeNull();
    expect(medianOf([{ a: 3 }, { a: 1 }], ({ a }, i) => a + i)).toBe(2.5);
    expect(middleOf([4, 1, 2, 3], (value) => value)).toBe(2);
    expect(middleOf([3, 1, 2], (value) => value)).toBe(2);
    expect(middleOf([null], (value) => value)).toBeNull();
  });

  it('are the same for few values and many, in whatever order', () => {
    for (const count of [1, 2, 23, 24, 25, 26, 300, 601]) {
      const mixed = Array.from({ length: count }, (_, i) => (i * 7919) % count);
      const middle = count % 2 === 1 ? (mixed.length - 1) / 2 : count / 2 - 0.5;
      // 7919 is prime, so for these counts the values are 0 … count - 1, each once.
      expect(medianKnown(mixed)).toBe(middle);
      expect(middleOf(mixed, (value) => value)).toBe(Math.floor(middle));
    }
  });

  it('know their spread: 1.4826 times the median deviation; from neighbours over the root of two', () => {
    expect(spreadKnown([0, null, 1, 2, 3, 4])).toBeCloseTo(1.482602, 6);
    expect(spreadKnown([1, null])).toBeNull();
    expect(spreadKnown([1, 1])).toBe(0);
    expect(neighbourSpread([0, 1, null, 2, 12])).toBeCloseTo(1.482602 / Math.SQRT2, 6);
    expect(neighbourSpread([0, 1, null])).toBeNull();
  });

  it('are rounded for reports, with no minus nought and nothing that JSON cannot hold', () => {
    expect(rounded(1.23456)).toBe(1.2346);
    expect(rounded(1.26, 1)).toBe(1.3);
    expect(Object.is(rounded(-0.00001), 0)).toBe(true);
    expect([rounded(null), rounded(NaN), rounded(Infinity)]).toEqual([null, null, null]);
    expect([difference(3, 1), difference(null, 1), difference(1, null)]).toEqual([2, null, null]);
  });

  it('are worked out once', () => {
    let times = 0;
    const value = once(() => ++times);
    expect([times, value(), value(), times]).toEqual([0, 1, 1, 1]);
  });
});
