import { describe, expect, it } from 'vitest';
import { compareNames, orderFrames } from '../../../src/shoot/order.js';
import { START_MS, inputOf } from '../../support/frame-facts.js';

describe('the order of frames', () => {
  const at = (name: string, second: number | null, camera = 'A') =>
    inputOf(name, { capturedAtMs: second === null ? null : START_MS + 1000 * second, camera });
  const names = (frames: ReturnType<typeof at>[], ahead?: (frame: { name: string }) => number) =>
    orderFrames(frames, ahead).map(({ name }) => name);

  it('is by time, then by name as people count', () => {
    expect(names([at('F10', 1), at('F9', 1), at('F1', 2), at('F2', 0.5)])).toEqual(['F2', 'F9', 'F10', 'F1']);
    expect(names([at('b', null), at('a10', null), at('a9', null)])).toEqual(['a9', 'a10', 'b']);
    expect(names([])).toEqual([]);
  });

  it('takes off what a camera’s clock is ahead', () => {
    expect(names([at('B1', 10), at('A1', 5), at('A2', 9)], ({ name }) => (name === 'B1' ? 4000 : 0))).toEqual([
      'A1',
      'B1',
      'A2',
    ]);
  });

  it('puts frames without a time behind the last name before them, or first', () => {
    expect(names([at('F3', 1), at('F1', 2), at('F2', null), at('F0', null), at('F4', null), at('F5', null)])).toEqual([
      'F0',
      'F3',
      'F4',
      'F5',
      'F1',
      'F2',
    ]);
  });

  it('leaves the input alone', () => {
    const frames = [at('b', 2), at('a', 1)];
    orderFrames(frames);
    expect(frames.map(({ name }) => name)).toEqual(['b', 'a']);
  });

  it('of names: digits as numbers, then code units, then the shorter one', () => {
    const signs = (a: string, b: string) => [Math.sign(compareNames(a, b)), Math.sign(compareNames(b, a))];
    expect(signs('a2', 'a10')).toEqual([-1, 1]);
    expect(signs('a2b', 'a2c')).toEqual([-1, 1]);
    expect(signs('a', 'a1')).toEqual([-1, 1]);
    expect(signs('2', 'a')).toEqual([-1, 1]);
    expect(signs('a01', 'a1')).toEqual([-1, 1]);
    expect(signs('a1', 'a1')).toEqual([0, 0]);
  });
});
