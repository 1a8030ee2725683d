import { describe, expect, it } from 'vitest';
import { automaticFrames } from '../../../src/shoot/automatic-frames.js';

describe('an automatic ISO', () => {
  const dials = (svs: number[], more = {}) => svs.map((sv) => ({ autoExposure: false, av: 6, tv: 7, sv, ...more }));

  it('shows by four values in five changes, all else standing', () => {
    expect(automaticFrames(dials([5, 6, 7, 8, 5, 6, 7, 8, 5]))[4]).toBe(true);
    expect(automaticFrames(dials([5, 6, 7, 5, 6, 7, 5, 6, 7]))[4]).toBe(false);
    expect(automaticFrames(dials([5, 5, 6, 7, 8, 8, 8, 8, 8]))[4]).toBe(false);
    expect(automaticFrames(dials([5, 5, 5, 5, 5]))).toEqual(Array(5).fill(false));
    expect(automaticFrames([])).toEqual([]);
    const opened = dials([5, 6, 7, 8, 5, 6, 7, 8, 5]);
    opened[2] = { autoExposure: false, av: 5, tv: 7, sv: 7 };
    expect(automaticFrames(opened)[4]).toBe(false);
    expect(automaticFrames(dials([5, 5], { autoExposure: true }))).toEqual([true, true]);
  });
});
