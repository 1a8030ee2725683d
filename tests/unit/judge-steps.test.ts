import { describe, expect, it } from 'vitest';
import { ShootPlan, type ShootPlanInput } from '../../src/contracts/plan.js';
import type { JudgedFrameInput } from '../../src/shoot/input.js';
import { judgeShoot } from '../../src/shoot/judge.js';
import { lookOf } from '../../src/shoot/look/save-look.js';
import { fakeMeasurement, type FakeFrame } from '../support/measurement.js';
import { TRACK_START_MS } from '../support/track.js';

/* What only the order of the steps decides, on as few frames as show it. */
const frame = (
  name: string,
  second: number,
  fake: FakeFrame = {},
  told: Partial<JudgedFrameInput> = {},
): JudgedFrameInput => ({
  name,
  measurement: fakeMeasurement({ capturedAtMs: TRACK_START_MS + 1000 * second, ...fake }),
  failure: null,
  measurementHref: null,
  ...told,
});
const judge = (frames: readonly JudgedFrameInput[], plan: ShootPlanInput = { light: 'flash' }) =>
  judgeShoot({ shoot: { id: 'x', name: 'Hall' }, plan: ShootPlan.parse(plan), frames });
const four = (fake: FakeFrame = {}) => [1, 2, 3, 4].map((i) => frame(`F${i}.jpg`, 10 * i, fake));

describe('a judged shoot', () => {
  it('holds every frame in time, and what could not be measured in its place, in no set-up', () => {
    const failure = { code: 'unreadable-image', message: 'It ends early.' } as never;
    const frames = [
      ...four().reverse(),
      frame('F5.jpg', 50, {}, { measurement: null, failure }),
      // A measurement beside a failure is not believed.
      frame('F6.jpg', 60, {}, { failure }),
    ];
    const report = judge(frames);
    expect(report.shoot).toEqual({ id: 'x', name: 'Hall', measuringVersions: ['test-1'] });
    expect(report.frames.map(({ name, setup }) => [name, setup])).toEqual([
      ...[1, 2, 3, 4].map((i) => [`F${i}.jpg`, 's1']),
      ['F5.jpg', null],
      ['F6.jpg', null],
    ]);
    expect(report.setups[0]).toMatchObject({
      frames: ['F1.jpg', 'F2.jpg', 'F3.jpg', 'F4.jpg'],
      representativeFrame: 'F1.jpg',
    });
    expect(report.summary).toMatchObject({ consistent: 4, unreadable: 2 });
  });

  it('has its set-ups in time, whichever camera made them', () => {
    const other = (second: number) => frame(`B${second}.jpg`, second, { camera: 'Gable' });
    const turned = [5, 6, 7, 8].map((i) => frame(`F${i}.jpg`, 10 * i, { sideToSideStops: 3 }));
    const report = judge([...four(), ...turned, other(25), other(35), other(15)]);
    expect(report.setups.map(({ id, firstFrame }) => [id, firstFrame])).toEqual([
      ['s1', 'F1.jpg'],
      ['s2', 'B15.jpg'],
      ['s3', 'F5.jpg'],
    ]);
  });

  it('lists corrections of those frames alone that need any', () => {
    const dark = frame('F5.jpg', 50, { faceLevelStops: -0.5, torsoLevelStops: -1.5, backgroundLevelStops: -2 });
    const report = judge([...four(), dark]);
    expect(report.corrections.map((steps) => steps.frame)).toEqual(['F5.jpg']);
    expect(report.corrections[0]!.steps[0]).toMatchObject({ stops: 1 });
    expect(judge(four()).corrections).toEqual([]);
  });

  it('compares sitters unless it is told not to', () => {
    expect(judge(four()).setups[0]!.sitters).toHaveLength(1);
    expect(judge(four(), { light: 'flash', compareSitters: false }).setups[0]!.sitters).toEqual([]);
  });

  it('uses settings unless the frames are finished exports', () => {
    expect(judge(four()).frames[0]!.exposure!.iso).toBe(100);
    expect(judge(four(), { finished: true }).frames[0]!.exposure!.iso).toBeNull();
  });

  it('holds set-ups, and corrections, against the plan’s look, and frames against its reference', () => {
    const look = lookOf(judge(four()), 'hall');
    const bright = { faceLevelStops: 2, torsoLevelStops: 1, backgroundLevelStops: 0.5 };
    const report = judge(four(bright), { light: 'flash', look });
    expect(report.setups[0]!.look).toMatchObject({ look: 'hall', verdict: 'off' });
    expect(judge(four()).setups[0]!.look).toBeNull();
    const reference = judge(
      [...four(), frame('F5.jpg', 50, { faceLevelStops: 0.8, torsoLevelStops: -0.2, backgroundLevelStops: -0.7 })],
      {
        light: 'flash',
        referenceFrame: 'F5.jpg',
      },
    );
    expect(reference.frames[0]!.deviation.fromReferenceStops).toBeCloseTo(-0.3, 6);
    expect(judge(four()).frames[0]!.deviation.fromReferenceStops).toBeNull();
  });

  it('tells a flash that was not recharged with the time since the frame before of the same camera', () => {
    const short = { faceLevelStops: 0, torsoLevelStops: -1, backgroundLevelStops: -1.5 };
    const others = [frame('F6.jpg', 51), frame('F7.jpg', 61), frame('B1.jpg', 41, { camera: 'Gable' })];
    const told = judge([...four(), frame('F5.jpg', 42, short), ...others]).frames.find(
      ({ name }) => name === 'F5.jpg',
    )!;
    expect(told.flags.find(({ code }) => code === 'light-short')!.because).toContain(
      '2.0 s after the frame before (usually 10.0 s)',
    );
    const first = judge([frame('A1.jpg', 0, short), ...four()]).frames[0]!;
    expect(first.flags.find(({ code }) => code === 'light-short')!.because).not.toContain('after the frame before');
  });
});
