import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { ShootPlan } from '../../src/contracts/plan.js';
import type { JudgedFrameInput } from '../../src/shoot/input.js';
import { judgeShoot } from '../../src/shoot/judge.js';
import { compareNames, orderFrames } from '../../src/shoot/order.js';
import { severityOf } from '../../src/shoot/severity.js';
import { shuffled } from '../accuracy/shoot-score.js';
import { simulateShoot } from '../accuracy/shoot-simulator.js';
import { fakeMeasurement } from '../support/measurement.js';

const judge = (frames: readonly JudgedFrameInput[], plan: Parameters<typeof ShootPlan.parse>[0] = {}) =>
  judgeShoot({ shoot: { id: 'x', name: 'x' }, plan: ShootPlan.parse(plan), frames });

const seeds = fc.integer({ min: 1, max: 100_000 });

describe('judging, whatever the shoot', () => {
  it('does not depend on the order of the input', () => {
    fc.assert(
      fc.property(seeds, (seed) => {
        const { frames } = simulateShoot({ seed, faults: true });
        expect(judge(shuffled(frames, seed))).toEqual(judge(frames));
      }),
      { numRuns: 12, seed: 16 },
    );
  });

  it('keeps every frame, once, and puts each measured one into exactly one set-up', () => {
    fc.assert(
      fc.property(seeds, (seed) => {
        const { frames } = simulateShoot({ seed, faults: true });
        const report = judge(frames);
        expect(report.frames.map((frame) => frame.name).sort()).toEqual(frames.map((frame) => frame.name).sort());
        expect(report.setups.flatMap((setup) => setup.frames).sort()).toEqual(frames.map((frame) => frame.name).sort());
        for (const setup of report.setups) {
          const own = report.frames.filter((frame) => frame.setup === setup.id).map((frame) => frame.name);
          expect(own).toEqual(setup.frames);
        }
      }),
      { numRuns: 12, seed: 16 },
    );
  });

  it('corrects each frame by just what it is off, split into settings and light', () => {
    fc.assert(
      fc.property(seeds, (seed) => {
        for (const { deviation, toBaselineStops } of judge(simulateShoot({ seed, faults: true }).frames).frames) {
          if (deviation.fromSetupStops === null) continue;
          expect(toBaselineStops).toBeCloseTo(-deviation.fromSetupStops, 6);
          if (deviation.ofWhichSettingsStops === null || deviation.ofWhichLightStops === null) continue;
          expect(deviation.ofWhichSettingsStops + deviation.ofWhichLightStops).toBeCloseTo(deviation.fromSetupStops, 3);
        }
      }),
      { numRuns: 12, seed: 16 },
    );
  });

  it('never lets a number that JSON cannot hold into the report', () => {
    fc.assert(
      fc.property(seeds, (seed) => {
        const report = judge(simulateShoot({ seed, faults: true }).frames);
        expect(JSON.parse(JSON.stringify(report))).toEqual(report);
      }),
      { numRuns: 12, seed: 16 },
    );
  });

  it('takes frames of which almost nothing is known', () => {
    const nothing = fakeMeasurement({
      person: false,
      backgroundLevelStops: null,
      fNumber: null,
      exposureTimeSeconds: null,
      iso: null,
      capturedAtMs: null,
      camera: null,
      focalLengthMm: null,
      wallMired: null,
      wallDuv: null,
      skinMired: null,
      skinDuv: null,
    });
    const frames = ['b.jpg', 'a.jpg', 'c.jpg'].map((name) => ({
      name,
      measurement: nothing,
      failure: null,
      measurementHref: null,
    }));
    const report = judge(frames);
    expect(report.frames.map((frame) => frame.name)).toEqual(['a.jpg', 'b.jpg', 'c.jpg']);
    expect(report.frames.every((frame) => frame.verdict === 'consistent')).toBe(true);
    expect(judge([]).summary.frames).toBe(0);
  });
});

describe('severityOf', () => {
  it('never grows milder as the difference grows, nor harsher as the uncertainty does', () => {
    const rank = { note: 0, check: 1, fault: 2 } as const;
    const of = (...args: Parameters<typeof severityOf>): number => {
      const severity = severityOf(...args);
      return severity === null ? -1 : rank[severity];
    };
    const stops = fc.double({ min: 0, max: 6, noNaN: true });
    const small = fc.double({ min: 0, max: 0.3, noNaN: true });
    fc.assert(
      fc.property(stops, stops, small, small, (a, b, u, e) => {
        expect(of(Math.max(a, b), 1 / 3, u, e)).toBeGreaterThanOrEqual(of(Math.min(a, b), 1 / 3, u, e));
        expect(of(a, 1 / 3, u + 0.1, e)).toBeLessThanOrEqual(of(a, 1 / 3, u, e));
        expect(of(-a, 1 / 3, u, e)).toBe(of(a, 1 / 3, u, e));
      }),
      { seed: 16 },
    );
  });
});

describe('order of frames', () => {
  it('sorts names as people do, and totally', () => {
    expect(['f10', 'f9', 'f1', 'a2b10', 'a2b9'].sort(compareNames)).toEqual(['a2b9', 'a2b10', 'f1', 'f9', 'f10']);
    fc.assert(
      fc.property(fc.string(), fc.string(), (a, b) => {
        expect(Math.sign(compareNames(a, b))).toBe(-Math.sign(compareNames(b, a)) + 0);
        if (compareNames(a, b) === 0) expect(a).toBe(b);
      }),
      { seed: 16 },
    );
  });

  it('puts a frame without a time behind the last name before it', () => {
    const frame = (name: string, capturedAtMs: number | null) => ({
      name,
      measurement: fakeMeasurement({ capturedAtMs }),
      failure: null,
      measurementHref: null,
    });
    const ordered = orderFrames([frame('f3', 300), frame('f2', null), frame('f1', 100), frame('f0', null)]);
    expect(ordered.map(({ name }) => name)).toEqual(['f0', 'f1', 'f2', 'f3']);
  });
});
