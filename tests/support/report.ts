import type {
  CorrectedFrame,
  Flag,
  FlagCode,
  ReportFrame,
  Setup,
  Severity,
  ShootReport,
  Verdict,
} from '../../src/contracts/report.js';
import { ShootReport as ShootReportSchema } from '../../src/contracts/report.js';

export interface FakeFrame {
  name: string;
  setup?: string | null;
  fromSetupStops?: number | null;
  verdict?: Verdict;
  flags?: Flag[];
  lifts?: ReportFrame['lifts'];
  withoutPerson?: boolean;
}

export const fakeFlag = (code: FlagCode, severity: Severity, because: string): Flag => ({ code, severity, because });

const noDeviation = {
  fromSetupStops: null,
  ofWhichSettingsStops: null,
  ofWhichLightStops: null,
  fromPlanStops: null,
  fromReferenceStops: null,
};

/** The same with nothing to do to it. */
export const fakeCorrectedFrame = (frame: FakeFrame): CorrectedFrame => ({
  ...fakeReportFrame(frame),
  corrections: [],
});

/** A valid report frame; what is not said is ordinary. */
export function fakeReportFrame(frame: FakeFrame): ReportFrame {
  const verdict = frame.verdict ?? 'consistent';
  if (verdict === 'unreadable') {
    return {
      name: frame.name,
      setup: null,
      capturedAt: null,
      verdict,
      flags: frame.flags ?? [fakeFlag('unreadable', 'fault', 'The image data ends early.')],
      deviation: noDeviation,
      toBaselineStops: null,
      lifts: [],
      people: [],
      clipping: null,
      exposure: null,
      toneResponse: null,
      measurement: null,
    };
  }
  const from = frame.fromSetupStops === undefined ? 0.04 : frame.fromSetupStops;
  return {
    name: frame.name,
    setup: frame.setup === undefined ? 'A' : frame.setup,
    capturedAt: '2026-03-14T10:00:00.50',
    verdict,
    flags: frame.flags ?? [],
    deviation: {
      ...noDeviation,
      fromSetupStops: from,
      ofWhichSettingsStops: from === null ? null : 0,
      ofWhichLightStops: from,
    },
    toBaselineStops: from === null ? null : -from,
    lifts: frame.lifts ?? [],
    people: frame.withoutPerson
      ? []
      : [
          {
            faceLevelStops: 0.6 + (from ?? 0),
            lowerBodyLevelStops: -0.4 + (from ?? 0),
            faceToLowerBodyStops: 1,
            faceToLowerBodyLightStops: 0.35,
            faceToLowerBodyLightUncertaintyStops: 0.3,
            basis: 'mixed',
            sideToSideStops: 0.7,
            confidence: 0.92,
          },
        ],
    clipping: { highlightsShare: 0.0031, largestHighlightAreaShare: 0.0012, facesShare: 0, blacksShare: 0.0004 },
    exposure: { fNumber: 8, exposureTimeSeconds: 0.00625, iso: 200, ev100: 12.32, flashFired: true },
    toneResponse: { source: 'assumed', slopeAtMid: 1.4, uncertaintyStops: 0.12, because: 'a typical camera curve' },
    measurement: `measurements/${frame.name}.json`,
  };
}

function fakeSetup(id: string, frames: readonly ReportFrame[], previous: string | null): Setup {
  const names = frames.map((frame) => frame.name);
  return {
    id,
    description: `flash, f/8, 1/160 s, ISO 200, subject +0.60 stops from mid-grey`,
    frames: names,
    firstFrame: names[0] ?? '',
    lastFrame: names.at(-1) ?? '',
    representativeFrame: names[0] ?? null,
    baseline: {
      subjectLevelStops: 0.6,
      subjectSpreadStops: 0.06,
      backgroundLevelStops: -1.2,
      personToBackgroundStops: 1.8,
      sideToSideStops: 0.7,
      faceToLowerBodyStops: 1,
      faceToLowerBodyLightStops: 0.35,
      castMired: 4,
      castDuv: 0.001,
      fNumber: 8,
      exposureTimeSeconds: 0.00625,
      iso: 200,
      ev100: 12.32,
    },
    sitters: [],
    changeFromPrevious:
      previous === null
        ? null
        : {
            fromSetup: previous,
            levelStops: -0.67,
            settingsStops: 0,
            lightStops: -0.67,
            lightThirdStopSteps: 2,
            sideToSideStops: 0.1,
            personToBackgroundStops: 0.2,
            castMired: 0,
            fallOffStops: null,
            because: 'The subject is 0.67 stops darker at the same settings, so the light changed by 0.67 stops.',
          },
    figures: {
      subjectLevel: { medianStops: 0.6, spreadStops: 0.06, frames: names.length },
      backgroundLevel: null,
      personToBackground: null,
      sideToSide: null,
      faceToLowerBodyLight: null,
      castMired: null,
      castDuv: null,
    },
    drift: null,
    automation: null,
    look: null,
  };
}

/** A report that holds to the schema, made of the frames given; set-ups follow from them. */
export function fakeReport(frames: readonly FakeFrame[], findings: readonly string[] = []): ShootReport {
  const all = frames.map(fakeReportFrame);
  const ids = [...new Set(all.flatMap((frame) => (frame.setup === null ? [] : [frame.setup])))];
  const number = (verdict: Verdict) => all.filter((frame) => frame.verdict === verdict).length;
  const flagCounts: Partial<Record<FlagCode, number>> = {};
  for (const flag of all.flatMap((frame) => frame.flags)) flagCounts[flag.code] = (flagCounts[flag.code] ?? 0) + 1;
  return ShootReportSchema.parse({
    schemaVersion: 1,
    shoot: { id: 'shoot-1', name: 'Village hall makers’ portrait day', measuringVersions: ['1.0.0'] },
    plan: {},
    setups: ids.map((id, i) =>
      fakeSetup(
        id,
        all.filter((frame) => frame.setup === id),
        ids[i - 1] ?? null,
      ),
    ),
    frames: all,
    corrections: [],
    planCompliance: [],
    summary: {
      frames: all.length,
      consistent: number('consistent'),
      check: number('check'),
      off: number('off'),
      unreadable: number('unreadable'),
      consistentShare: all.length === 0 ? 0 : number('consistent') / all.length,
      flagCounts,
      findings: [...findings],
      light: {
        kind: 'flash',
        shutterWeight: 0,
        ambientShare: null,
        because: 'The camera says that the flash fired on every frame.',
      },
      toneResponse: 'An assumed camera curve on every frame; one stop is known to ±0.12 stops.',
      cautions: ['Weigh down light stands before you raise them.'],
      notes: [],
      clocks: [],
      otherRenderings: [],
    },
  });
}

/** A shoot like the sample one: three set-ups and one of each kind of trouble. `frames` of any number. */
export function fakeMakersDay(frames = 42): ShootReport {
  const list = Array.from({ length: frames }, (_, i): FakeFrame => {
    const name = `MKD_${String(i + 1).padStart(4, '0')}.JPG`;
    const setup = i < frames * 0.4 ? 'A' : i < frames * 0.7 ? 'B' : 'C';
    const wobble = Math.sin(i * 2.3) * 0.09;
    const of42 = i % 42;
    if (of42 === 6)
      return {
        name,
        setup,
        fromSetupStops: -4.8,
        verdict: 'off',
        flags: [
          fakeFlag(
            'light-missing',
            'fault',
            'The subject is 4.80 stops under its set-up at the same settings: the light did not fire.',
          ),
        ],
      };
    if (of42 === 12)
      return {
        name,
        setup,
        fromSetupStops: -0.9,
        verdict: 'off',
        flags: [
          fakeFlag(
            'light-short',
            'fault',
            'The subject is 0.90 stops under its set-up at the same settings: the light had not recharged.',
          ),
        ],
      };
    if (of42 >= 20 && of42 <= 22)
      return {
        name,
        setup,
        fromSetupStops: 1.02,
        verdict: 'off',
        flags: [
          fakeFlag('settings-changed', 'fault', 'ISO is 400 where its set-up has 200: 1.00 stops more.'),
          fakeFlag('highlights-clipped', 'check', '2.1 % of the frame is clipped.'),
        ],
      };
    if (of42 === 27)
      return {
        name,
        setup,
        fromSetupStops: 0.05,
        verdict: 'check',
        flags: [fakeFlag('cast-shifted', 'check', 'The cast moved by 38 mired against its set-up.')],
      };
    if (of42 === 33)
      return {
        name,
        setup,
        fromSetupStops: 0.1,
        verdict: 'check',
        flags: [
          fakeFlag('face-clipped', 'check', '3.4 % of the face is clipped.'),
          fakeFlag('lower-body-not-in-frame', 'note', 'The frame ends above the hips.'),
        ],
      };
    if (of42 === 38)
      return {
        name,
        setup,
        fromSetupStops: -0.02,
        verdict: 'off',
        flags: [
          fakeFlag(
            'lower-body-dark',
            'fault',
            'The legs get 1.40 stops less light than the face, 1.05 more than in its set-up.',
          ),
        ],
        lifts: [
          {
            region: 'lower-body',
            stops: 0.95,
            because: 'Brings the lower body to within a third of a stop of its set-up.',
            limitedBy: 'noise',
            outline: [
              [0.4, 0.5],
              [0.6, 0.5],
              [0.6, 0.95],
              [0.4, 0.95],
            ],
          },
        ],
      };
    if (of42 === 40) return { name, verdict: 'unreadable' };
    return { name, setup, fromSetupStops: wobble, withoutPerson: of42 === 3 };
  });
  return fakeReport(list, [
    '3 frames (MKD_0021.JPG to MKD_0023.JPG) were made at ISO 400 where their set-up has 200: take 1.00 stops off.',
    'The light did not fire on MKD_0007.JPG: 4.80 stops under its set-up.',
    'From set-up B to set-up C the light on the subject fell by 0.67 stops: turn it up by 2 third-stop steps.',
  ]);
}
