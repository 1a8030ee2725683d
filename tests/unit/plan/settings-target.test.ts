import { describe, expect, it } from 'vitest';
import { planFlags } from '../../../src/shoot/plan/plan-flags.js';
import { fromPlanStops, offPlanStops } from '../../../src/shoot/plan-settings.js';
import { contextOf } from '../../support/frame-context.js';
import { CONTINUOUS, FLASH, facts } from '../../support/plan-parts.js';

/* Settings by the APEX equation: a stop is f/8 to f/5.6, 1/125 s to 1/60 s, ISO 100 to 200, on the scales' exact powers of two. */
describe('settings against a target', () => {
  it('are told dial by dial, with what each does to the level', () => {
    const target = { fNumber: 8, exposureTimeSeconds: 1 / 125, iso: 100 };
    const off = offPlanStops(facts({ fNumber: 5.6, exposureTimeSeconds: 1 / 60, iso: 200 }), target, CONTINUOUS);
    expect(off.map(({ name, planned: asked, is }) => `${name} ${is} for ${asked}`)).toEqual([
      'aperture f/5.6 for f/8',
      'shutter 1/60 s for 1/125 s',
      'ISO 200 for 100',
    ]);
    for (const { stops, levelStops } of off) {
      expect(stops).toBeCloseTo(1, 9);
      expect(levelStops).toBeCloseTo(1, 9);
    }
    expect(offPlanStops(facts({ exposureTimeSeconds: 1 / 60 }), target, FLASH)[1]).toMatchObject({ levelStops: 0 });
    expect(fromPlanStops(facts({ fNumber: 11, iso: 400 }), target, FLASH)).toBeCloseTo(1, 9);
  });

  it('are compared where both plan and file tell them', () => {
    expect(
      offPlanStops(
        facts({ fNumber: null, exposureTimeSeconds: null, iso: null }),
        { fNumber: 8, exposureTimeSeconds: 1, iso: 100 },
        1,
      ),
    ).toEqual([]);
    expect(offPlanStops(facts(), {}, 1)).toEqual([]);
    expect(fromPlanStops(facts(), {}, 1)).toBeNull();
    expect(fromPlanStops(facts(), undefined, 1)).toBeNull();
  });

  it('are flagged from half a third on, and a fault past the tolerance', () => {
    const flags = (fNumber: number, toleranceStops = 1 / 3) =>
      planFlags(contextOf({ fake: { fNumber }, plan: { toleranceStops, target: { fNumber: 8 } } }));
    expect(flags(8)).toEqual([]);
    expect(flags(7.1)).toMatchObject([{ code: 'settings-off-plan', severity: 'check' }]);
    expect(flags(7.1, 0.25)).toMatchObject([{ severity: 'fault' }]);
    expect(flags(5.6)[0]?.stops).toBeCloseTo(1, 9);
    expect(flags(5.6)[0]?.because).toBe("Settings are not the plan's: aperture f/5.6 for f/8; together +1.00 stop.");
    expect(
      planFlags(
        contextOf({ fake: { exposureTimeSeconds: 1 / 60 }, plan: { target: { exposureTimeSeconds: 1 / 125 } } }),
      ),
    ).toMatchObject([{ severity: 'check', stops: 0 }]);
  });
});
