import { describe, expect, it } from 'vitest';
import type { PlannedSetup } from '../../../src/contracts/plan.js';
import { planFlags } from '../../../src/shoot/plan/plan-flags.js';
import { fromReadingStops, lightReadStops, readingText } from '../../../src/shoot/plan/reading.js';
import { contextOf } from '../../support/frame-context.js';
import type { FakeFrame } from '../../support/measurement.js';
import { CONTINUOUS, FLASH, facts, planned } from '../../support/plan-parts.js';

/* Settings by the APEX equation: a stop is f/8 to f/5.6, 1/125 s to 1/60 s, ISO 100 to 200, on the scales' exact powers of two. */
describe('settings against a meter reading', () => {
  const reading = { fNumber: 8, iso: 100 };

  it('are the exposure that they make over it, whatever the dials', () => {
    const over = (fake: FakeFrame, told: Partial<PlannedSetup> = { reading }, weight = FLASH) =>
      fromReadingStops(facts(fake), planned(told), weight);
    expect(over({ fNumber: 5.6 })).toBeCloseTo(1, 9);
    expect(over({ fNumber: 11, iso: 200 })).toBeCloseTo(0, 9);
    expect(over({ fNumber: 5.6 }, { reading, overReadingStops: 1 })).toBeCloseTo(0, 9);
    expect(over({}, {})).toBeNull();
    expect(over({ iso: null })).toBeNull();
    expect(over({}, { reading }, CONTINUOUS)).toBeNull();
    expect(
      over({ exposureTimeSeconds: 1 / 60 }, { reading: { ...reading, exposureTimeSeconds: 1 / 125 } }, CONTINUOUS),
    ).toBeCloseTo(1, 9);
    // EV 13 at ISO 100 is Av + Tv = 13: f/8 (6) and 1/128 s (7).
    expect(over({}, { reading: { ev100: 13 } }, CONTINUOUS)).toBeCloseTo(0, 9);
    expect(over({}, { reading: { ev100: 12 } }, CONTINUOUS)).toBeCloseTo(-1, 9);
    expect(over({}, { reading: { ev100: 13 } })).toBeNull();
    // 2.5 lx is EV 0 by C = 250: 2^13 times as much is EV 13.
    expect(over({}, { reading: { lux: 2.5 * 2 ** 13 } }, CONTINUOUS)).toBeCloseTo(0, 9);
  });

  it('that ask for less exposure mean more light', () => {
    expect(lightReadStops(reading, { fNumber: 11, iso: 100 }, FLASH)).toBeCloseTo(1, 9);
    expect(lightReadStops(reading, { fNumber: 8, iso: 200 }, FLASH)).toBeCloseTo(-1, 9);
    expect(lightReadStops({ ev100: 10 }, { ev100: 12 }, CONTINUOUS)).toBeCloseTo(2, 9);
    expect(lightReadStops({ ev100: 10 }, reading, FLASH)).toBeNull();
    expect(lightReadStops(reading, { ev100: 10 }, FLASH)).toBeNull();
    expect(Object.is(lightReadStops(reading, reading, FLASH), 0)).toBe(true);
  });

  it('are told in words', () => {
    expect(readingText(planned({ reading }))).toBe('f/8, ISO 100');
    expect(readingText(planned({ reading, overReadingStops: 0.5 }))).toBe('f/8, ISO 100, 0.50 stop over it');
    expect(readingText(planned({ reading, overReadingStops: -0.5 }))).toBe('f/8, ISO 100, 0.50 stop under it');
    expect(readingText(planned({ reading: { ev100: 12 } }))).toBe('EV 12.0 at ISO 100');
    expect(readingText(planned({ reading: { lux: 2560 } }))).toBe('2560 lx (EV 10.0 at ISO 100)');
    expect(readingText(planned({}))).toBe('');
  });

  it('are flagged from half a third on, and a fault past the tolerance', () => {
    const flags = (fNumber: number, told = planned({ reading })) =>
      planFlags({ ...contextOf({ fake: { fNumber }, plan: { toleranceStops: 1 / 3 } }), planned: told });
    expect(flags(8)).toEqual([]);
    expect(flags(7.1)).toMatchObject([{ code: 'settings-off-plan', severity: 'check' }]);
    expect(flags(5.6)).toMatchObject([{ severity: 'fault' }]);
    expect(flags(5.6)[0]?.because).toBe(
      'In "portraits" the meter read f/8, ISO 100; these settings give +1.00 stop to that: −3 third-stop steps of exposure follow the reading.',
    );
    expect(flags(5.6, planned({}))).toEqual([]);
    expect(planFlags(contextOf({ fake: { fNumber: 5.6 } }))).toEqual([]);
  });
});
