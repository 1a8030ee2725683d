import { describe, expect, it } from 'vitest';
import { findChangePoints } from '../../src/shoot/change-points.js';
import type { Signal } from '../../src/shoot/signals.js';
import { stepsBeatLine } from '../../src/shoot/steps-or-line.js';

const signal = (values: (number | null)[]): Signal => ({ name: 'wall', values });
const series = <T>(count: number, of: (i: number) => T): T[] => Array.from({ length: count }, (_, i) => of(i));
const foundIn = (...columns: (number | null)[][]) => findChangePoints(columns.map(signal), columns[0]?.length ?? 0);

/* In units of the noise a step d between n/2 and n/2 values saves n d^2 / 4, and each change costs 4 ln n (BIC). */
describe('where signals step', () => {
  it('a step that saves more than 4 ln n is found: from 1.55 noises on with twenty frames, 1.6 to be looked at', () => {
    const step = (size: number) => foundIn(series(20, (i) => (i < 10 ? 0 : size)));
    expect([step(1.65), step(-1.65)]).toEqual([[10], [10]]);
    expect(step(1.58)).toEqual([]);
  });

  it('fewer frames cost as much as twenty, more cost more', () => {
    // 2.5 d^2 > 4 ln 20 from 2.19 on; with 200 frames 50 d^2 > 4 ln 200 always, so the look decides.
    const half = (frames: number, size: number) => foundIn(series(frames, (i) => (i < frames / 2 ? 0 : size)));
    expect([half(10, 2.1), half(10, 2.3)]).toEqual([[], [5]]);
    // One frame at the end of 20 saves 0.95 d^2, at the end of 100 0.99 d^2 of 4 ln 100 = 18.4.
    const last = (frames: number, size: number) => foundIn(series(frames, (i) => (i < frames - 1 ? 0 : size)));
    expect([last(20, 3.5), last(20, 3.7)]).toEqual([[], [19]]);
    expect([last(100, 4.2), last(100, 4.5)]).toEqual([[], [99]]);
    expect(foundIn(series(20, (i) => (i === 0 ? 3.7 : 0)))).toEqual([1]);
  });

  it('an odd frame is a stretch of its own where two changes pay', () => {
    const odd = (size: number) => foundIn(series(20, (i) => (i === 8 ? size : 0)));
    expect([odd(4.9), odd(5.2)]).toEqual([[], [8, 9]]);
  });

  it('is the same at whatever level the signal stands', () => {
    for (const level of [50, -50]) {
      expect(foundIn(series(20, (i) => level + (i < 10 ? 0 : 1.65)))).toEqual([10]);
      expect(foundIn(series(20, (i) => (i % 2 === 0 ? null : level)))).toEqual([]);
      expect(foundIn(series(20, (i) => (i < 10 ? null : level)))).toEqual([]);
    }
  });

  it('a place is tried where one frame steps by 3.2 noises, if three together do not by 1.6', () => {
    const odd = (size: number) => series(20, (i) => (i === 8 ? size : 0));
    expect(foundIn(odd(3.5), odd(3.5), odd(3.5))).toEqual([8, 9]);
    expect(foundIn(odd(3.1), odd(3.1), odd(3.1), odd(3.1))).toEqual([]);
  });

  it('signals that step together pay together; missing values have no say', () => {
    const half = series(20, (i) => (i < 17 ? 0 : 1.8));
    expect(foundIn(half)).toEqual([]);
    expect(foundIn(half, half, half)).toEqual([17]);
    const gaps = (size: number) => foundIn(series(40, (i) => (i % 2 === 0 ? null : i < 20 ? 0 : size)));
    expect([gaps(3), gaps(1)]).toEqual([expect.arrayContaining([expect.any(Number)]), []]);
    expect(gaps(3)).toHaveLength(1);
  });

  it('nothing to look at has no steps', () => {
    expect(findChangePoints([], 20)).toEqual([]);
    expect(findChangePoints([signal([])], 0)).toEqual([]);
    expect(findChangePoints([signal([5])], 1)).toEqual([]);
    expect(foundIn([0, 9])).toEqual([1]);
  });

  it('long tracks are searched piece by piece, and no step is lost or made where pieces meet', () => {
    const stairs = (every: number) => foundIn(series(900, (i) => 20 * Math.floor(i / every)));
    for (const every of [2, 3, 7])
      expect(stairs(every)).toEqual(series(Math.ceil(900 / every) - 1, (k) => every * (k + 1)));
  });
});

describe('steps or a line', () => {
  const ramp = (count: number, slope: number) => series(count, (i) => slope * i);

  it('a ramp is a line, one step or two are steps', () => {
    for (const count of [12, 40, 301, 700]) {
      const slope = 0.6 / count;
      expect(stepsBeatLine(ramp(count, slope), slope)).toBe(false);
      expect(stepsBeatLine(ramp(count, -slope), -slope)).toBe(false);
      const step = series(count, (i) => (i < count / 2 ? 0 : 0.4));
      expect(stepsBeatLine(step, slope)).toBe(true);
      const two = series(count, (i) => 0.3 * Math.floor((3 * i) / count));
      expect(stepsBeatLine(two, slope)).toBe(true);
    }
  });

  it('one or two odd frames make no step of a ramp', () => {
    const odd = ramp(40, 0.015).map((value, i) => (i === 12 || i === 13 || i === 30 ? value + 2 : value));
    expect(stepsBeatLine(odd, 0.015)).toBe(false);
  });

  it('unknown values have no say; three points tell no line', () => {
    const gaps = ramp(40, 0.015).map((value, i) => (i % 3 === 0 ? null : value));
    expect(stepsBeatLine(gaps, 0.015)).toBe(false);
    expect(stepsBeatLine([0, 1, 2], 1)).toBe(true);
    expect(stepsBeatLine([], 1)).toBe(true);
    expect(stepsBeatLine([0, 1, 2, 3], 0.3)).toBe(false);
  });

  /* Flat values against a line of slope s: squares of s^2 n (n^2 - 1) / 12 against the one parameter more of a step, ln n. */
  it('a step pays for its parameter by ln n: the slope from which flat values are no such line', () => {
    const flips = (points: number, everyFrames: number, unit: number): number =>
      Math.sqrt((Math.log(points) * unit) / ((everyFrames ** 2 * points * (points ** 2 - 1)) / 12));
    // Forty points as they are; a hundred, every second one; six hundred as sixty medians of ten, which scatter less.
    for (const [count, points, every, unit] of [
      [40, 40, 1, 0.03 ** 2],
      [100, 50, 2, 0.03 ** 2],
      [600, 60, 10, 0.03 ** 2 / 10],
    ] as const) {
      const slope = flips(points, every, unit);
      const flat = series(count, () => 0.7);
      expect([stepsBeatLine(flat, 0.99 * slope), stepsBeatLine(flat, 1.01 * slope)]).toEqual([false, true]);
      expect([stepsBeatLine(flat, -0.99 * slope), stepsBeatLine(flat, -1.01 * slope)]).toEqual([false, true]);
    }
  });

  it('two steps pay for three parameters more', () => {
    // Three stairs of 13 frames: a line leaves 3 (h / 13)^2 x 182 against 3 ln 39.
    const flip = Math.sqrt((3 * Math.log(39) * 0.03 ** 2) / ((3 * 182) / 169));
    const stairs = (h: number) =>
      stepsBeatLine(
        series(39, (i) => 5 + h * Math.floor(i / 13)),
        h / 13,
      );
    expect([stairs(0.99 * flip), stairs(1.01 * flip)]).toEqual([false, true]);
  });

  it('a slope that is not the values’ own is no line', () => {
    expect(stepsBeatLine(ramp(40, 0.015), 0)).toBe(true);
    expect(
      stepsBeatLine(
        series(40, () => 0.7),
        0,
      ),
    ).toBe(false);
  });
});
