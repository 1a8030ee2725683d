import { describe, expect, it } from 'vitest';
import { BRACKETS_PRESENT, bracketSets, checkBracket } from '../accuracy/brackets.js';
import { medianOf } from '../accuracy/row.js';

describe.skipIf(!BRACKETS_PRESENT)('real brackets (skipped where ../shared is absent)', () => {
  it.each(BRACKETS_PRESENT ? bracketSets() : [])('%s', async (set) => {
    const { assumed, calibrated, refused } = await checkBracket(set);
    expect(refused).toBeNull();
    // The assumed response is right to 0.15 of a stop a stop for a typical camera.
    expect(assumed.length).toBeGreaterThan(1);
    expect(Math.abs(medianOf(assumed.map((s) => s.measuredStops / s.trueStops)) - 1)).toBeLessThan(0.15);
    // A response fitted on the odd frames reads the even ones.
    for (const s of calibrated ?? []) expect(Math.abs(s.measuredStops / s.trueStops - 1)).toBeLessThan(0.06);
  });
});
