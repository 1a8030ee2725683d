import { describe, expect, it } from 'vitest';
import { ShootPlan, type PlannedSetup } from '../../../src/contracts/plan.js';
import { factsOf } from '../../../src/shoot/facts.js';
import { planForFrame, plannedSetupsOf } from '../../../src/shoot/plan/planned-setups.js';
import { fakeMeasurement } from '../../support/measurement.js';
import { planned } from '../../support/plan-parts.js';

/* Settings by the APEX equation: a stop is f/8 to f/5.6, 1/125 s to 1/60 s, ISO 100 to 200, on the scales' exact powers of two. */
describe('which frames a planned set-up holds for', () => {
  const shot = (name: string, iso: string | null, told: { offsetKnown?: boolean; aheadMs?: number } = {}) => {
    const measurement = fakeMeasurement();
    const epochMs = iso === null ? 0 : Date.parse(/(Z|[+-]\d\d:\d\d)$/.test(iso) ? iso : `${iso}Z`);
    measurement.exposure.capturedAt =
      iso === null ? null : { iso, epochMs, offsetKnown: told.offsetKnown ?? true, subSecondsKnown: true };
    return factsOf({ name, measurement, failure: null, measurementHref: null }, measurement, 0, told.aheadMs);
  };
  const setups = (...all: Partial<PlannedSetup>[]): ShootPlan =>
    ShootPlan.parse({ setups: all.map((one, i) => ({ name: `s${i}`, ...one })) });
  const nameOf = (plan: ShootPlan, frame: ReturnType<typeof shot>) =>
    plannedSetupsOf(plan, [frame]).get(frame.name)?.name;

  it('goes by names, first and last included, as people count; the first of several that fit', () => {
    const plan = setups({ frames: { first: 'F9', last: 'F10' } }, { frames: { first: 'F10', last: 'F12' } });
    expect(['F8', 'F9', 'F10', 'F11', 'F12', 'F13'].map((name) => nameOf(plan, shot(name, null)))).toEqual([
      undefined,
      's0',
      's0',
      's1',
      's1',
      undefined,
    ]);
    expect(plannedSetupsOf(ShootPlan.parse({}), [shot('F1', null)]).size).toBe(0);
  });

  it('goes by the camera’s own clock, both ends included, an offset in the file left aside', () => {
    const plan = setups({ times: { from: '2026-05-16T10:00:00', until: '2026-05-16T11:00:00' } });
    const at = (iso: string | null, told = {}) => nameOf(plan, shot('F1', iso, told));
    expect(at('2026-05-16T10:00:00+02:00')).toBe('s0');
    expect(at('2026-05-16T11:00:00Z')).toBe('s0');
    expect(at('2026-05-16T09:59:59.999')).toBeUndefined();
    expect(at('2026-05-16T11:00:00.001')).toBeUndefined();
    expect(at(null)).toBeUndefined();
    expect(at('2026-05-16T11:00:05', { aheadMs: 5000 })).toBe('s0');
    expect(at('2026-05-16T10:00:04', { aheadMs: 5000 })).toBeUndefined();
  });

  it('goes by instants where the plan tells an offset and the file knows its own', () => {
    const plan = setups({ times: { from: '2026-05-16T10:00:00+02:00', until: '2026-05-16T11:00:00+02:00' } });
    const at = (iso: string, told = {}) => nameOf(plan, shot('F1', iso, told));
    expect(at('2026-05-16T08:30:00Z')).toBe('s0');
    expect(at('2026-05-16T10:30:00Z')).toBeUndefined();
    expect(at('2026-05-16T08:30:00Z', { offsetKnown: false })).toBeUndefined();
  });

  it('goes before the whole plan in tolerance and target', () => {
    const plan = ShootPlan.parse({ toleranceStops: 0.5, target: { iso: 100 } });
    expect(planForFrame(plan, null)).toBe(plan);
    expect(planForFrame(plan, planned({}))).toEqual(plan);
    expect(planForFrame(plan, planned({ toleranceStops: 0.2, target: { iso: 200 } }))).toEqual({
      ...plan,
      toleranceStops: 0.2,
      target: { iso: 200 },
    });
  });
});
