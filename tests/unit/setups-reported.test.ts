import { describe, expect, it } from 'vitest';
import type { Verdict } from '../../src/contracts/report.js';
import { baselineOf, castOf, sittersOf } from '../../src/shoot/baseline.js';
import { reportSetup } from '../../src/shoot/report-setup.js';
import type { SetupState } from '../../src/shoot/setup-state.js';
import { contextOf, lightOf, sequenceFrame } from '../support/frame-context.js';
import type { FakeFrame } from '../support/measurement.js';
import { fakeReportFrame } from '../support/report.js';

const { setup: USUAL, lightKind: FLASH } = contextOf();

describe('the baseline of a set-up', () => {
  const setupOf = (
    fakes: readonly FakeFrame[],
    told: Partial<SetupState> = {},
    driftStops: (i: number) => number = () => 0,
  ): SetupState => ({
    ...USUAL,
    frames: fakes.map((fake, i) => sequenceFrame(fake, { driftStops: driftStops(i), sitter: i % 2 }, `F${i}.jpg`)),
    lights: fakes.map((_, i) => lightOf({ levelStops: 0.1 * i, subjectStops: 0.1 * i })),
    ...told,
  });

  it('is the median of its frames in every respect', () => {
    const legs = (fall: number) => ({ levelStops: -1, basis: 'skin' as const, faceToLowerBodyLightStops: fall });
    const fakes = [0, 1, 5].map((by) => ({
      faceLevelStops: by,
      backgroundLevelStops: -by,
      sideToSideStops: by,
      lowerBody: legs(by),
      wallMired: 1e6 / 6504 + by,
      wallDuv: by / 1000,
    }));
    expect(baselineOf(setupOf(fakes))).toMatchObject({
      subjectLevelStops: 1,
      // 0, 0.1, 0.2: 1.4826 x 0.1.
      subjectSpreadStops: 0.1483,
      backgroundLevelStops: -1,
      personToBackgroundStops: 2,
      sideToSideStops: 1,
      faceToLowerBodyStops: 2,
      faceToLowerBodyLightStops: 1,
      castMired: 1,
      castDuv: 0.001,
      fNumber: 8,
      iso: 100,
      ev100: 13,
    });
  });

  it('is the level last metered for: a drift and a departure are taken out', () => {
    const fakes = [0, 0.1, 0.2].map((faceLevelStops) => ({ faceLevelStops }));
    expect(baselineOf(setupOf(fakes, {}, (i) => 0.1 * i)).subjectLevelStops).toBe(0);
    const departure = { settingsStops: 0.3, lightStops: -1 } as NonNullable<SetupState['departure']>;
    expect(baselineOf(setupOf(fakes, { departure })).subjectLevelStops).toBe(0.8);
  });

  it('tells the settings that most frames have, the earliest of equals', () => {
    const iso = (...values: number[]) => baselineOf(setupOf(values.map((value) => ({ iso: value })))).iso;
    expect([iso(100, 200, 200), iso(200, 100, 100, 200), iso(400)]).toEqual([200, 200, 400]);
    expect(baselineOf(setupOf([{ iso: null, fNumber: 4 }, { iso: null, fNumber: 4 }, {}]))).toMatchObject({
      iso: null,
      fNumber: 4,
      ev100: null,
    });
    expect(baselineOf(setupOf([]))).toMatchObject({ fNumber: null, exposureTimeSeconds: null, iso: null, ev100: null });
    const mixed = [{ exposureTimeSeconds: 1 / 60 }, { fNumber: 4 }, { exposureTimeSeconds: 1 / 60 }];
    expect(baselineOf(setupOf(mixed)).exposureTimeSeconds).toBe(1 / 60);
  });

  it('tells the colour by the wall, else by the frame’s neutral estimate, against D65', () => {
    const cast = (fake: FakeFrame) => castOf(sequenceFrame(fake).facts);
    const { mired, duv } = cast({ wallMired: 200, wallDuv: 0.004 });
    expect([mired, duv]).toEqual([expect.closeTo(200 - 1e6 / 6504, 9), 0.004]);
    const neutral = cast({ wallMired: null, wallDuv: 0.004 });
    expect([neutral.mired, neutral.duv]).toEqual([expect.closeTo(1e6 / 5600 - 1e6 / 6504, 9), 0]);
  });

  it('has sitters in order of appearance, each with their own level and scatter', () => {
    const fakes: FakeFrame[] = [
      { faceLevelStops: 0 },
      { faceLevelStops: 1 },
      { faceLevelStops: 2 },
      { person: false },
      { faceLevelStops: 0.5 },
    ];
    expect(sittersOf(setupOf(fakes))).toEqual([
      { id: 'p1', frames: ['F0.jpg', 'F2.jpg', 'F4.jpg'], faceLevelStops: 0.5, spreadStops: 0.2965 },
      { id: 'p2', frames: ['F1.jpg'], faceLevelStops: 1, spreadStops: null },
    ]);
  });
});

describe('a set-up as it is reported', () => {
  const report = (
    fakes: readonly FakeFrame[],
    verdicts: readonly Verdict[],
    told: Partial<SetupState> = {},
    compares = true,
  ) => {
    const frames = fakes.map((fake, i) => sequenceFrame(fake, {}, `F${i}.jpg`));
    const setup: SetupState = {
      ...USUAL,
      frames,
      lights: frames.map(() => lightOf()),
      casts: frames.map(() => ({ mired: 0, duv: 0, witnesses: 'both' as const, spreadMired: 3 })),
      ...told,
    };
    const judged = new Map(
      verdicts.map((verdict, i) => [`F${i}.jpg`, fakeReportFrame({ name: `F${i}.jpg`, verdict })]),
    );
    return reportSetup(setup, FLASH, judged, compares, null);
  };
  const all = (count: number, verdict: Verdict = 'consistent') => Array.from({ length: count }, () => verdict);

  it('holds its frames, the first and the last', () => {
    expect(report([{}, {}, {}], all(3))).toMatchObject({
      id: 's1',
      frames: ['F0.jpg', 'F1.jpg', 'F2.jpg'],
      firstFrame: 'F0.jpg',
      lastFrame: 'F2.jpg',
      changeFromPrevious: null,
      drift: null,
      automation: null,
      look: null,
      sitters: [{ id: 'p1' }],
    });
    expect(report([{}], all(1), {}, false).sitters).toEqual([]);
    expect(report([], [])).toMatchObject({ firstFrame: '', lastFrame: '', representativeFrame: null });
  });

  it('is represented by the consistent frame nearest to its medians, the earliest of equals', () => {
    const nearest = (
      told: Partial<SetupState>,
      fakes: readonly FakeFrame[] = [{}, {}, {}],
      verdicts = all(fakes.length),
    ) => report(fakes, verdicts, told).representativeFrame;
    const lights = (...stops: number[]) => ({
      lights: stops.map((lightStops) => lightOf({ lightStops, wallStops: 0 })),
    });
    expect(nearest({})).toBe('F0.jpg');
    expect(nearest(lights(-0.2, 0.1, 0.3))).toBe('F1.jpg');
    expect(nearest(lights(0.2, -0.1, 0.3))).toBe('F1.jpg');
    expect(nearest(lights(0.2, -0.1, 0.15), undefined, ['consistent', 'check', 'consistent'])).toBe('F2.jpg');
    expect(nearest({}, undefined, all(3, 'off'))).toBeNull();
    const walls = (...stops: number[]) => ({ lights: stops.map((wallStops) => lightOf({ wallStops })) });
    expect(nearest(walls(0.2, -0.1, 0.3))).toBe('F1.jpg');
    // The level counts twice what the wall does.
    const both = { lights: [lightOf({ lightStops: 0.2, wallStops: 0 }), lightOf({ lightStops: 0, wallStops: 0.3 })] };
    expect(nearest(both, [{}, {}])).toBe('F1.jpg');
    const casts = [10, -5, 20].map((mired) => ({ mired, duv: 0, witnesses: 'both' as const, spreadMired: 3 }));
    expect(nearest({ casts })).toBe('F1.jpg');
    // Five mired weigh as a tenth of a stop.
    const either = { casts: casts.slice(1), lights: [lightOf({ lightStops: 0 }), lightOf({ lightStops: 0 })] };
    expect(nearest(either, [{}, {}])).toBe('F0.jpg');
    const [five, none] = [casts[1]!, { ...casts[1]!, mired: 0 }];
    const against = (lightStops: number) => ({ casts: [five, none], lights: [lightOf(), lightOf({ lightStops })] });
    expect([nearest(against(0.11), [{}, {}]), nearest(against(0.09), [{}, {}])]).toEqual(['F0.jpg', 'F1.jpg']);
    expect(nearest({}, [{ sideToSideStops: 2 }, { sideToSideStops: 1.1 }, { sideToSideStops: 0.5 }])).toBe('F1.jpg');
    // A frame whose side to side is not known stands half a stop away; a body tells less than a face.
    expect(nearest({}, [{ sideToSideStops: null }, { sideToSideStops: 1.4 }])).toBe('F1.jpg');
    expect(nearest({}, [{ sideToSideStops: null }, { sideToSideStops: 1.6 }])).toBe('F0.jpg');
    expect(
      nearest({}, [{ faceLevelStops: null, bodyLevelStops: 0, sideToSideStops: null }, { sideToSideStops: 2 }]),
    ).toBe('F1.jpg');
  });

  it('is represented by a frame of the drift’s beginning, whose level was metered for', () => {
    const frames = [0.3, 0.1, 0].map((driftStops, i) => sequenceFrame({}, { driftStops }, `F${i}.jpg`));
    expect(report([{}, {}, {}], all(3), { frames }).representativeFrame).toBe('F2.jpg');
    const lights = [-0.3, 0, 0.1].map((lightStops) => lightOf({ lightStops }));
    expect(report([{}, {}, {}], all(3), { frames, lights }).representativeFrame).toBe('F0.jpg');
  });
});
