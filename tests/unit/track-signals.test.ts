import { describe, expect, it } from 'vitest';
import { settingsWander, signalsOf } from '../../src/shoot/signals.js';
import { cutAtSteps } from '../../src/shoot/setups.js';
import type { SequenceFrame } from '../../src/shoot/sequence.js';
import { sequenceFrame } from '../support/frame-context.js';
import type { FakeFrame } from '../support/measurement.js';

const START_MS = 1_780_000_000_000;
const run = (count: number, of: (i: number) => FakeFrame, told: (i: number) => Partial<SequenceFrame> = () => ({})) =>
  Array.from({ length: count }, (_, i) =>
    sequenceFrame(
      { capturedAtMs: START_MS + 10_000 * i, ...of(i) },
      { wallLightStops: -1, subjectLightStops: 0, ...told(i) },
    ),
  );
const valuesOf = (frames: readonly SequenceFrame[], name: string, weight = 0) =>
  signalsOf(frames, weight).find((found) => found.name === name)?.values;

describe('the signals of a track', () => {
  const steady = run(8, () => ({}));

  it('are those that some frame tells', () => {
    const names = (weight: number) => signalsOf(steady, weight).map(({ name }) => name);
    const always = [
      'wall',
      'subject',
      'side-to-side',
      'cast',
      'focal',
      'bright side',
      'pause',
      'aperture',
      'sensitivity',
    ];
    expect(names(0)).toEqual(always);
    expect(names(1)).toEqual([...always, 'shutter']);
    const legs = run(8, () => ({
      lowerBody: { levelStops: -1, basis: 'skin' as const, faceToLowerBodyLightStops: 0.5 },
      profileLevelsStops: [0, -1, -2, -3, -4, -5],
    }));
    expect(signalsOf(legs, 0).map(({ name }) => name)).toEqual(expect.arrayContaining(['fall-off', 'profile']));
    expect(
      valuesOf(
        run(
          8,
          () => ({}),
          () => ({ wallLightStops: null }),
        ),
        'wall',
      ),
    ).toBeUndefined();
  });

  it('are told in units of their noise, and of no less than pose and framing make', () => {
    const light = (i: number) => ({ wallLightStops: i < 6 ? 0 : 0.7, subjectLightStops: i < 6 ? 0 : 0.7 });
    const quiet = run(12, () => ({ sideToSideStops: 0.3, wallMired: 180, focalLengthMm: 64 }), light);
    const first = (name: string, weight = 0) => valuesOf(quiet, name, weight)![0];
    expect(valuesOf(quiet, 'wall')).toEqual(
      [0, 0, 0, 0, 0, 0, 10, 10, 10, 10, 10, 10].map((value) => expect.closeTo(value, 9) as number),
    );
    expect(valuesOf(quiet, 'subject')![11]).toBeCloseTo(10, 9);
    expect(first('side-to-side')).toBeCloseTo(0.3 / 0.15, 9);
    expect(first('cast')).toBeCloseTo(180 / 6, 9);
    expect(first('focal')).toBeCloseTo(6 / 0.35, 9);
    // f/8, ISO 100, 1/128 s on the exact scale, in steps of 0.15 stop.
    expect(first('aperture')).toBeCloseTo(6 / 0.15, 9);
    expect(first('sensitivity')).toBeCloseTo(5 / 0.15, 4);
    expect(first('shutter', 0.5)).toBeCloseTo((0.5 * 7) / 0.15, 9);
    // From frame to frame by 0.5: 1.4826 x 0.5 / sqrt 2 of noise.
    const shaky = run(
      12,
      () => ({}),
      (i) => ({ wallLightStops: 0.5 * (i % 2) }),
    );
    expect(valuesOf(shaky, 'wall')![1]).toBeCloseTo(0.5 / ((1.4826 * 0.5) / Math.SQRT2), 4);
  });

  it('the colour is the wall’s, else the frame’s neutral estimate', () => {
    expect(
      valuesOf(
        run(3, () => ({ wallMired: null })),
        'cast',
      )![0],
    ).toBeCloseTo(1e6 / 5600 / 6, 6);
  });

  it('every change of sitter continues the level of the one before, the sitter’s own changes stay', () => {
    const levels = [0, 0, 0, 0, 2, 2, 2, 2, 2.7, 2.7, 0.7, 0.7];
    const sitters = [0, 0, 0, 0, 1, 1, 1, 1, 1, 1, 0, 0];
    const frames = run(
      12,
      () => ({}),
      (i) => ({ subjectLightStops: levels[i]!, sitter: sitters[i]! }),
    );
    const stops = valuesOf(frames, 'subject')!.map((value) => Math.round(value! * 0.07 * 1e6) / 1e6);
    // The second sitter brightened by 0.7, which holds for the frames after: their last five lie at 0.
    expect(stops.slice(0, 10)).toEqual([0, 0, 0, 0, 0, 0, 0, 0, 0.7, 0.7]);
    expect(stops[10]).toBe(stops[11]);
  });

  it('a run ties in by the medians of five frames on each side', () => {
    const levels = [0, 0, 0, 0, 0, 0, 0, 0.7, 0.7, 0.7, 0, 0, 5, 5, null, 5, 5.7, 5.7, 5.7];
    const frames = run(
      levels.length,
      () => ({}),
      (i) => ({ subjectLightStops: levels[i]!, sitter: i < 12 ? 0 : 1 }),
    );
    const stops = valuesOf(frames, 'subject')!.map((value) => (value === null ? null : Math.round(value * 7e4) / 1e6));
    // The last five lie at 0.7 in the median, so the next sitter's first five, of which four tell, do as well.
    expect(stops).toEqual([0, 0, 0, 0, 0, 0, 0, 0.7, 0.7, 0.7, 0, 0, 0.7, 0.7, null, 0.7, 1.4, 1.4, 1.4]);
  });

  it('a face and a body of one sitter are two levels, and runs without any leave the level as it was', () => {
    const frames = run(
      12,
      (i) => (i < 4 ? {} : { faceLevelStops: null, bodyLevelStops: -2 }),
      (i) => ({ subjectLightStops: i < 4 ? 0.5 : i < 8 ? null : -2, sitter: i < 8 ? i >> 2 : 2 }),
    );
    const stops = valuesOf(frames, 'subject')!;
    expect(stops.slice(0, 8)).toEqual([0, 0, 0, 0, null, null, null, null]);
    expect(stops.slice(8)).toEqual([0, 0, 0, 0]);
    const turned = run(
      8,
      (i) => (i < 4 ? {} : { faceLevelStops: null, bodyLevelStops: -2 }),
      (i) => ({ subjectLightStops: i < 4 ? 0.5 : -2 }),
    );
    expect(valuesOf(turned, 'subject')).toEqual([0, 0, 0, 0, 0, 0, 0, 0]);
  });

  it('the profile is told against the sitter’s own, clothes and all', () => {
    const lowerBody = { levelStops: -1, basis: 'clothing' as const };
    const fall = (stops: number) => [0, 1, 2, 3, 4, 5].map((k) => (-stops * k) / 6);
    const frames = run(
      10,
      (i) => ({ lowerBody, profileLevelsStops: fall(i % 2 === 0 ? 1 : 3) }),
      (i) => ({ sitter: i % 2 }),
    );
    for (const value of valuesOf(frames, 'profile')!) expect(value).toBeCloseTo(0, 9);
    const steeper = run(10, (i) => ({ lowerBody, profileLevelsStops: fall(i < 7 ? 1 : 2) }));
    expect(valuesOf(steeper, 'profile')![0]).toBeCloseTo(0, 6);
    expect(valuesOf(steeper, 'profile')![9]).toBeCloseTo(-4, 6);
  });

  it('long pauses are counted: eight usual intervals and a minute', () => {
    const at = (ms: number[]) => run(ms.length, (i) => ({ capturedAtMs: START_MS + ms[i]! }));
    const counts = (ms: number[]) => valuesOf(at(ms), 'pause')!.map((value) => value! / 2);
    expect(counts([0, 10, 20, 30, 111, 121].map((s) => 1000 * s))).toEqual([0, 0, 0, 0, 1, 1]);
    expect(counts([0, 10, 20, 30, 110, 120].map((s) => 1000 * s))).toEqual([0, 0, 0, 0, 0, 0]);
    expect(
      valuesOf(
        run(3, () => ({ capturedAtMs: null })),
        'pause',
      ),
    ).toEqual([0, 0, 0]);
  });

  it('a frame without a time makes no pause', () => {
    const untimed = run(8, (i) => (i === 4 ? { capturedAtMs: null } : {}));
    expect(valuesOf(untimed, 'pause')).toEqual(Array.from({ length: 8 }, () => 0));
  });

  it('settings of automatic frames are none, and of a wandering exposure nothing is told', () => {
    const some = run(
      8,
      () => ({}),
      (i) => ({ automatic: i === 3 }),
    );
    expect(valuesOf(some, 'aperture')![3]).toBeNull();
    expect(valuesOf(some, 'sensitivity')!.filter((value) => value === null)).toHaveLength(1);
    expect(valuesOf(some, 'shutter', 1)![3]).toBeNull();
    const most = run(
      8,
      () => ({}),
      (i) => ({ automatic: i < 5 }),
    );
    expect(signalsOf(most, 1).map(({ name }) => name)).not.toContain('aperture');
    expect(
      valuesOf(
        run(4, (i) => ({ exposureTimeSeconds: i === 1 ? null : 1 / 125 })),
        'shutter',
        1,
      )![1],
    ).toBeNull();
  });

  it('an exposure wanders where more than half is automatic, or a quarter of eight frames and more changes', () => {
    const settings = (values: number[], automatic = 0) =>
      settingsWander(
        run(
          values.length,
          () => ({}),
          (i) => ({ settingsStops: values[i]!, automatic: i < automatic }),
        ),
      );
    const flat = (count: number) => Array.from({ length: count }, () => 0);
    expect([settings(flat(8), 4), settings(flat(8), 5)]).toEqual([false, true]);
    // Two changes of eight are a quarter; three are more.
    expect(settings([0, 0, 0, 1, 1, 1, 0, 0])).toBe(false);
    expect(settings([0, 0, 0, 1, 1, 0, 1, 1])).toBe(true);
    expect(settings([0, 1, 0, 1, 0, 1, 0])).toBe(false);
    expect(settings([0, 0.1, 0, 0.1, 0, 0.1, 0, 0.1])).toBe(false);
    expect(settings([0, 0.11, 0, 0.11, 0, 0.11, 0, 0.11])).toBe(true);
  });
});

describe('a track cut at its steps', () => {
  it('gives pieces that follow on one another', () => {
    const frames = run(
      20,
      () => ({}),
      (i) => ({ wallLightStops: i < 8 ? 0 : 1, subjectLightStops: i < 8 ? 0 : 1 }),
    );
    expect(cutAtSteps(frames, 0)).toEqual([
      { start: 0, end: 8 },
      { start: 8, end: 20 },
    ]);
    expect(cutAtSteps([], 0)).toEqual([]);
  });
});
