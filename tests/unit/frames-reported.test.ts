import { describe, expect, it } from 'vitest';
import { ShootPlan } from '../../src/contracts/plan.js';
import type { Flag } from '../../src/contracts/report.js';
import { NO_SETTINGS, asFinished, shownFlags } from '../../src/shoot/finished.js';
import { judgeShoot } from '../../src/shoot/judge.js';
import { reportFrame, unreadableFrame } from '../../src/shoot/report-frame.js';
import type { FrameContext } from '../../src/shoot/setup-state.js';
import { contextOf, lightOf, type ToldContext } from '../support/frame-context.js';
import { fakeMeasurement, type FakeFrame } from '../support/measurement.js';
import { trackOf } from '../support/track.js';

const reported = (told: ToldContext = {}, reference: FrameContext | null = null) =>
  reportFrame(contextOf(told), reference, null).frame;

describe('a frame as it is reported', () => {
  it('stands where its light and its settings put it, and is corrected by as much the other way', () => {
    const { deviation, toBaselineStops, setup, name } = reported({ light: { lightStops: -0.3, settingsStops: 1 } });
    expect(deviation).toEqual({
      fromSetupStops: 0.7,
      ofWhichSettingsStops: 1,
      ofWhichLightStops: -0.3,
      fromPlanStops: null,
      fromReferenceStops: null,
    });
    expect([toBaselineStops, setup, name]).toEqual([-0.7, 's1', 'F009.jpg']);
  });

  it('has a level without causes where its settings are unknown, and nothing where its light is', () => {
    const unknown = reported({ light: { lightStops: 0.4, settingsKnown: false } }).deviation;
    expect(unknown).toMatchObject({ fromSetupStops: 0.4, ofWhichSettingsStops: null, ofWhichLightStops: null });
    const dark = reported({ light: { lightStops: null, levelStops: null } });
    expect(dark.deviation).toMatchObject({ fromSetupStops: null, ofWhichSettingsStops: null, ofWhichLightStops: null });
    expect(dark.toBaselineStops).toBeNull();
  });

  it('has flags that name the cause, and corrections that bring it to the reference frame, colour and all', () => {
    const context = contextOf({ light: { lightStops: -1, wallStops: -1, subjectStops: -1 }, cast: { mired: 40 } });
    expect(reportFrame(context, null, null).frame.flags.map(({ code }) => code)).toContain('light-short');
    const reference = { ...context, light: lightOf({ lightStops: -1 }), cast: { ...context.cast, mired: 40 } };
    const [own, likeReference] = [null, reference].map((other) => reportFrame(context, other, null).corrections);
    expect(own!.length).toBeGreaterThan(likeReference!.length);
    expect(likeReference).toEqual([]);
  });

  it('counts how far its set-up departed from the one metered for', () => {
    const departure = { settingsStops: 0.5, lightStops: -1, fromSetupPlace: 0, sure: true } as NonNullable<
      FrameContext['setup']['departure']
    >;
    expect(reported({ setup: { departure, departedFromId: 's0' } }).deviation).toMatchObject({
      fromSetupStops: -0.5,
      ofWhichSettingsStops: 0.5,
      ofWhichLightStops: -1,
    });
  });

  it('stands to the plan by the settings that it names', () => {
    const plan = { toleranceStops: 0.25, target: { fNumber: 8, iso: 50 } };
    expect(reported({ plan }).deviation.fromPlanStops).toBeCloseTo(1, 3);
    // Else by what the planned set-up's meter reading asks for: f/8, ISO 100 read, f/8 at ISO 200 shot.
    const context = contextOf({ fake: { iso: 200 } });
    const planned = {
      ...context,
      planned: ShootPlan.parse({ setups: [{ name: 'front', reading: { fNumber: 8, iso: 100 } }] }).setups![0]!,
    };
    expect(reportFrame(planned, null, null).frame.deviation.fromPlanStops).toBeCloseTo(1, 3);
    const both = { ...planned, plan: ShootPlan.parse(plan) };
    expect(reportFrame(both, null, null).frame.deviation.fromPlanStops).toBeCloseTo(2, 3);
  });

  it('holds what was measured of people, clipping and exposure', () => {
    const fake: FakeFrame = {
      faceLevelStops: 0.5,
      sideToSideStops: 1.2,
      flashFired: true,
      highlightsShare: 0.01,
      largestHighlightAreaShare: 0.005,
      blacksShare: 0.002,
      facesClippedShare: 0.003,
      confidence: 0.8,
      capturedAtMs: 0,
      lowerBody: { levelStops: -1, basis: 'mixed', faceToLowerBodyLightStops: 0.9, uncertaintyStops: 0.4 },
    };
    expect(reported({ fake })).toMatchObject({
      capturedAt: '1970-01-01T00:00:00.000Z',
      people: [
        {
          faceLevelStops: 0.5,
          lowerBodyLevelStops: -1,
          faceToLowerBodyStops: 1.5,
          faceToLowerBodyLightStops: 0.9,
          faceToLowerBodyLightUncertaintyStops: 0.4,
          basis: 'mixed',
          sideToSideStops: 1.2,
          confidence: 0.8,
        },
      ],
      clipping: { highlightsShare: 0.01, largestHighlightAreaShare: 0.005, facesShare: 0.003, blacksShare: 0.002 },
      exposure: { fNumber: 8, exposureTimeSeconds: 1 / 125, iso: 100, flashFired: true },
      toneResponse: { source: 'assumed' },
      measurement: null,
    });
    const bare = reported({ fake: { faceLevelStops: null, capturedAtMs: null, fNumber: null } });
    expect(bare).toMatchObject({
      capturedAt: null,
      exposure: { fNumber: null, ev100: null, flashFired: null },
      people: [{ faceLevelStops: null, lowerBodyLevelStops: null, sideToSideStops: null }],
    });
  });

  it('that could not be measured keeps its place, with the reason', () => {
    const failed = { name: 'X.jpg', measurement: null, measurementHref: '/x' };
    const told = unreadableFrame({
      ...failed,
      failure: { code: 'unreadable-image', message: 'It ends early.' } as never,
    });
    expect(told).toEqual({
      corrections: [],
      frame: {
        name: 'X.jpg',
        setup: null,
        capturedAt: null,
        verdict: 'unreadable',
        flags: [{ code: 'unreadable', severity: 'fault', because: 'It ends early. (unreadable-image)' }],
        deviation: {
          fromSetupStops: null,
          ofWhichSettingsStops: null,
          ofWhichLightStops: null,
          fromPlanStops: null,
          fromReferenceStops: null,
        },
        toBaselineStops: null,
        lifts: [],
        people: [],
        clipping: null,
        exposure: null,
        toneResponse: null,
        measurement: '/x',
      },
    });
    expect(unreadableFrame({ ...failed, failure: null }).frame.flags[0]!.because).toBe('The frame was not measured.');
  });
});

describe('a frame against the reference frame', () => {
  const from = (told: ToldContext, reference: FrameContext | null) =>
    reported(told, reference).deviation.fromReferenceStops;
  const other = (told: ToldContext): FrameContext => contextOf({ ...told, setup: { id: 's2', ...told.setup } });

  it('of its set-up stands by both deviations', () => {
    expect(from({ light: { lightStops: 0.5 } }, contextOf({ light: { lightStops: 0.2 } }))).toBe(0.3);
    expect(from({ light: { lightStops: null, levelStops: null } }, contextOf())).toBeNull();
    expect(from({}, contextOf({ light: { lightStops: null, levelStops: null } }))).toBeNull();
    expect(from({}, null)).toBeNull();
  });

  it('of another set-up stands by the face of the same sitter alone', () => {
    const reference = other({ fake: { faceLevelStops: 0.1, torsoLevelStops: -0.9 } });
    expect(from({ fake: { faceLevelStops: 0.5 } }, reference)).toBe(0.4);
    const dressed = (torsoLogRg: number) =>
      from({ fake: { faceLevelStops: 0.5, appearance: { torsoLogRg } } }, reference);
    expect([dressed(0.149), dressed(0.151)]).toEqual([0.4, null]);
    expect(from({ fake: { person: false } }, reference)).toBeNull();
    expect(from({ fake: { faceLevelStops: null } }, reference)).toBeNull();
    expect(from({}, other({ fake: { faceLevelStops: null } }))).toBeNull();
    expect(from({ plan: { compareSitters: false } }, reference)).toBeNull();
  });

  it('of another camera cannot be said', () => {
    expect(from({ light: { lightStops: 0.5 } }, contextOf({ setup: { track: 1 } }))).toBeNull();
  });

  it('has to be one of the shoot', () => {
    const frames = [{ name: 'A.jpg', measurement: fakeMeasurement(), failure: null, measurementHref: null }];
    const judge = (referenceFrame: string) =>
      judgeShoot({ shoot: { id: 'x', name: 'x' }, plan: ShootPlan.parse({ referenceFrame }), frames });
    expect(() => judge('B.jpg')).toThrow(
      'Expected the name of a frame of this shoot for referenceFrame but received "B.jpg"',
    );
    expect(judge('A.jpg').frames[0]!.deviation.fromReferenceStops).toBe(0);
  });
});

describe('finished exports', () => {
  const input = (fake: FakeFrame) => ({
    name: 'A',
    measurement: fakeMeasurement(fake),
    failure: null,
    measurementHref: null,
  });

  it('lose settings, camera and lens, and keep time and picture', () => {
    const before = input({ flashFired: true, capturedAtMs: 5 });
    const { measurement } = asFinished(before);
    expect(measurement!.exposure).toMatchObject({ ...NO_SETTINGS, capturedAt: { epochMs: 5 } });
    expect(Object.values(NO_SETTINGS).every((value) => value === null || typeof value === 'object')).toBe(true);
    expect(measurement!.people).toBe(before.measurement.people);
    const unread = { ...before, measurement: null };
    expect(asFinished(unread)).toBe(unread);
  });

  it('are known no better than a local tone curve allows, unless the response is none', () => {
    const response = (source: 'assumed' | 'scene' | 'none' | 'learned', uncertaintyStops: number) =>
      asFinished(input({ toneResponse: { source, uncertaintyStops } })).measurement!.toneResponse;
    expect(response('assumed', 0.1)).toMatchObject({
      uncertaintyStops: 0.35,
      because: 'made for a test; a finished export, edited by a curve of its own',
    });
    expect(response('learned', 0.5).uncertaintyStops).toBe(0.5);
    for (const source of ['scene', 'none'] as const)
      expect(response(source, 0)).toMatchObject({ uncertaintyStops: 0, because: 'made for a test' });
  });

  it('show no causes; the bare level is told without one', () => {
    const flag = (code: Flag['code'], stops?: number): Flag => ({
      code,
      severity: 'check',
      because: 'why',
      ...(stops === undefined ? {} : { stops }),
    });
    const setup = (frames: number) => ({ id: 's1', frames: trackOf(frames) });
    const hidden = [
      'settings-changed',
      'settings-off-plan',
      'light-changed',
      'light-missing',
      'light-short',
      'no-exposure-data',
    ] as const;
    expect(shownFlags([...hidden.map((code) => flag(code)), flag('face-dark')], setup(9))).toEqual([flag('face-dark')]);
    expect(shownFlags([flag('level-off-baseline', -0.7)], setup(3))[0]!.because).toBe(
      "The subject shows −0.70 stop against s1's baseline.",
    );
    expect(shownFlags([flag('level-off-baseline')], setup(3))[0]!.because).toContain('+0.00 stop');
    expect(shownFlags([flag('level-off-baseline', 1)], setup(2))[0]!.because).toBe('why');
    const named = contextOf({ light: { lightStops: -1, wallStops: -1, subjectStops: -1 }, plan: { finished: true } });
    expect(reportFrame(named, null, null).frame.flags.map(({ code }) => code)).toEqual([
      'level-off-baseline',
      'lower-body-not-in-frame',
    ]);
  });
});
