import { describe, expect, it } from 'vitest';
import { ShootPlan } from '../../../src/contracts/plan.js';
import type { FrameFacts } from '../../../src/shoot/facts.js';
import { decideLightKind } from '../../../src/shoot/light-kind.js';
import type { FakeFrame } from '../../support/measurement.js';
import { START_MS, factOf } from '../../support/frame-facts.js';

describe('flash or continuous', () => {
  const run = (fakes: FakeFrame[]): FrameFacts[] =>
    fakes.map((fake, i) => factOf({ capturedAtMs: START_MS + 10_000 * i, ...fake }));
  const decide = (fakes: FakeFrame[], light: 'auto' | 'flash' | 'continuous' = 'auto') =>
    decideLightKind([run(fakes)], ShootPlan.parse({ light }));
  const steady = Array.from({ length: 5 }, (): FakeFrame => ({}));

  it('is the plan’s word first, then the flash bits’', () => {
    expect(decide(steady, 'flash')).toMatchObject({
      kind: 'flash',
      shutterWeight: 0,
      because: 'The plan says flash, so the shutter does not count.',
    });
    expect(decide(steady, 'continuous')).toMatchObject({ kind: 'continuous', shutterWeight: 1 });
    expect(decide([{ flashFired: true }, { flashFired: false }, {}])).toMatchObject({
      kind: 'flash',
      because: 'The files say that the flash fired in 1 of 2 frames.',
    });
    expect(decide([{ flashFired: true }, { flashFired: false }, { flashFired: false }]).kind).toBe('continuous');
  });

  it('is what the wall did where the shutter changed by a stop', () => {
    const shutter = (backgroundLevelStops: number): FakeFrame[] => [
      {},
      { exposureTimeSeconds: 1 / 60, backgroundLevelStops },
    ];
    expect(decide(shutter(-1)).because).toBe(
      'Where the shutter changed, the level did as flash predicts 1 times and as continuous light predicts 0 times, so it is flash.',
    );
    expect(decide(shutter(0)).because).toMatch(
      /flash predicts 0 times and as continuous light predicts 1 times, so it is continuous\.$/,
    );
    expect(decide(shutter(-0.5)).because).toMatch(/^Nothing in the files tells/);
    const late = shutter(-1).map((fake, i) => ({ ...fake, capturedAtMs: START_MS + 120_001 * i }));
    expect(decide(late).because).toMatch(/^Nothing in the files/);
    const unseen = shutter(-1).map((fake) => ({ ...fake, person: false, frameLevelStops: -2 }));
    expect(decide(unseen).kind).toBe('flash');
  });

  it('is flash where a single frame went dark, or short right after the one before', () => {
    const dip = (stops: number, more: FakeFrame = {}): FakeFrame[] => [
      ...steady,
      { backgroundLevelStops: -1 - stops, ...more },
      ...steady,
    ];
    expect(decide(dip(2.01)).because).toBe(
      'Single frames between like ones went dark with the same settings (1 fell by more than 2 stops), as only flash does.',
    );
    expect(decide(dip(2)).kind).toBe('continuous');
    expect(decide(dip(0.5)).kind).toBe('continuous');
    const soon = (ms: number) => dip(0.5, { capturedAtMs: START_MS + 4 * 10_000 + ms });
    expect(decide(soon(4999)).because).toMatch(/\(1 by less, right after the frame before\)/);
    expect(decide(soon(5000)).kind).toBe('continuous');
    expect(decide(dip(3, { iso: 50 })).kind).toBe('continuous');
    expect(decide(dip(6)).because).toMatch(/1 fell by more than 2 stops/);
    expect(decide([...steady, { person: false, frameLevelStops: -6 }, ...steady]).kind).toBe('flash');
  });

  it('is assumed to be continuous where nothing tells', () => {
    expect(decide(steady)).toMatchObject({ kind: 'continuous', shutterWeight: 1, usualTv: 0 });
  });

  it('is both where the level followed the shutter in part', () => {
    const half = (long: boolean): FakeFrame =>
      long ? { exposureTimeSeconds: 1 / 60, backgroundLevelStops: -1 + Math.log2(1.5) } : {};
    const fakes = [0, 0, 0, 0, 1, 0, 0, 0, 1, 0, 0, 0].map((long) => half(long === 1));
    const told = decide(fakes, 'flash');
    expect(told).toMatchObject({ kind: 'flash', usualTv: 7 });
    expect(told.shutterWeight).toBeCloseTo(0.5, 6);
    expect(told.because).toMatch(
      /^The plan says flash; where the shutter changed \(4 times\) the level followed it in part: 50 % of the light at 1\/128 s is continuous, beside the flash \(uncertain by \d+ %\), so the shutter counts for that share\.$/,
    );
  });
});
