import { describe, expect, it } from 'vitest';
import { ShootPlan, type ShootPlanInput } from '../../src/contracts/plan.js';
import { ev100FromIlluminance } from '../../src/photometry/apex.js';
import { judgeFakes, times } from '../support/fake-shoot.js';

/*
 * Meter readings of a plan as an exposure value and as lux. N^2 / t = E S / C, with C 240 to 400 lx s for a flat receptor
 * and 320 to 540 for a hemispherical one (ISO 2720:1974); 250 in use for flat ones, at which EV n at ISO 100 is 2.5 x 2^n lx
 * (the usual table: EV 0 2.5 lx, EV 8 640 lx, EV 12 10,240 lx). EV at ISO 100 of f/4 at 1/15 s is 8: Av 4 and Tv 4 (APEX).
 */
const EV_8 = { fNumber: 4, exposureTimeSeconds: 1 / 15, iso: 100 };

const judged = (reading: NonNullable<NonNullable<ShootPlanInput['setups']>[number]['reading']>, light = 'continuous') =>
  judgeFakes(times(6, EV_8), { light, setups: [{ name: 'hall', reading }] } as ShootPlanInput);

describe('a meter reading of continuous light', () => {
  it('as EV 8 at ISO 100 asks for f/4 and 1/15 s, or any trade of them', () => {
    expect(judged({ ev100: 8 }).planCompliance[0]).toMatchObject({
      verdict: 'as-planned',
      settings: { basis: 'reading', fromPlanStops: 0, asked: 'EV 8.0 at ISO 100' },
    });
    const traded = { fNumber: 5.6, exposureTimeSeconds: 1 / 15, iso: 200 };
    const report = judgeFakes(times(6, traded), {
      light: 'continuous',
      setups: [{ name: 'hall', reading: { ev100: 8 } }],
    });
    expect(report.planCompliance[0]?.verdict).toBe('as-planned');
  });

  it('as 640 lx is EV 8, as 320 lx a stop less light than the settings want', () => {
    expect(judged({ lux: 640 }).planCompliance[0]).toMatchObject({
      verdict: 'as-planned',
      settings: { fromPlanStops: 0, asked: '640 lx (EV 8.0 at ISO 100)' },
    });
    const darker = judged({ lux: 320 });
    expect(darker.planCompliance[0]).toMatchObject({
      verdict: 'off-plan',
      settings: { fromPlanStops: -1, thirdStopSteps: 3 },
    });
    expect(darker.frames[0]?.flags.map(({ code }) => code)).toContain('settings-off-plan');
  });

  it('as 156.8 lx is the published f/2.8 at 1/8 s, ISO 100', () => {
    const report = judgeFakes(times(6, { fNumber: 2.8, exposureTimeSeconds: 1 / 8, iso: 100 }), {
      light: 'continuous',
      setups: [{ name: 'hall', reading: { lux: 156.8 } }],
    });
    // f/2.8 is 2.828 on the scale: log2(8 / 7.84) = 0.03.
    expect(Math.abs(report.planCompliance[0]?.settings?.fromPlanStops ?? Infinity)).toBeLessThan(0.035);
  });

  it('under a dome, C 330, asks for 0.40 stop more exposure than a flat receptor', () => {
    expect(ev100FromIlluminance(640, 330)).toBeCloseTo(8 - Math.log2(330 / 250), 12);
    expect(judged({ lux: 640, meterConstantC: 330 }).planCompliance[0]?.settings?.fromPlanStops).toBeCloseTo(-0.4, 2);
  });

  it('is held against another reading in another form', () => {
    const report = judgeFakes([...times(10, EV_8), ...times(10, { ...EV_8, fNumber: 2.8 })], {
      light: 'continuous',
      setups: [
        { name: 'one', frames: { first: 'F001.jpg', last: 'F010.jpg' }, reading: EV_8 },
        { name: 'two', frames: { first: 'F011.jpg', last: 'F020.jpg' }, reading: { lux: 320 } },
      ],
    });
    expect(report.planCompliance.map(({ verdict }) => verdict)).toEqual(['as-planned', 'as-planned']);
    expect(report.planCompliance[1]?.level?.readStops).toBeCloseTo(-1, 3);
  });

  it('says nothing of a flash, and that is told', () => {
    for (const reading of [{ ev100: 8 }, { lux: 640 }]) {
      const report = judged(reading, 'flash');
      expect(report.planCompliance[0]).toMatchObject({ verdict: 'cannot-tell', settings: null });
      expect(report.planCompliance[0]?.because.join(' ')).toMatch(/nothing of a flash/);
      expect(report.frames.flatMap(({ flags }) => flags.map(({ code }) => code))).not.toContain('settings-off-plan');
    }
  });
});

describe('a meter reading is refused', () => {
  const refused = (reading: unknown): string[] =>
    (ShootPlan.safeParse({ setups: [{ name: 'a', reading }] }).error?.issues ?? []).map(({ message }) => message);

  it('in two forms at once, in none, or in half of one', () => {
    expect(refused({ ev100: 8, lux: 640 }).join()).toMatch(/one of/);
    expect(refused({ fNumber: 8, iso: 100, ev100: 8 }).join()).toMatch(/one of/);
    expect(refused({}).join()).toMatch(/one of/);
    expect(refused({ iso: 100 }).join()).toMatch(/f-number/);
    expect(refused({ fNumber: 8 }).join()).toMatch(/ISO speed/);
  });

  it('with a constant beyond ISO 2720, or one without lux', () => {
    expect(refused({ lux: 640, meterConstantC: 12.5 })).not.toEqual([]);
    expect(refused({ ev100: 8, meterConstantC: 250 }).join()).toMatch(/lux/);
    expect(refused({ lux: 640, meterConstantC: 340 })).toEqual([]);
  });
});
