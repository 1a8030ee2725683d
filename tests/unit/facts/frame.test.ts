import { describe, expect, it } from 'vitest';
import { factsOf, mainPerson } from '../../../src/shoot/facts.js';
import { fakeMeasurement, type FakeFrame } from '../../support/measurement.js';
import { START_MS, factOf, inputOf } from '../../support/frame-facts.js';

describe('one frame reduced', () => {
  it('is about its main person, by face, else body, else the whole frame', () => {
    expect(factOf()).toMatchObject({
      basis: 'face',
      subjectLevelStops: 0.5,
      levels: { face: 0.5, body: 0, frame: -1.2 },
    });
    expect(factOf({ faceLevelStops: null, bodyLevelStops: -0.25 })).toMatchObject({
      basis: 'body',
      subjectLevelStops: -0.25,
    });
    expect(factOf({ person: false, frameLevelStops: -2 })).toMatchObject({
      basis: 'frame',
      subjectLevelStops: -2,
      main: null,
    });
    const measurement = fakeMeasurement();
    const [person] = measurement.people;
    if (person === undefined) throw new Error('no person');
    const others = { ...measurement, people: [{ ...person, main: false, confidence: 0.1 }, person] };
    expect(mainPerson(others)).toBe(person);
    expect(mainPerson({ ...others, people: others.people.slice(0, 1) })?.confidence).toBe(0.1);
  });

  it('has a wall that is large and readable, or the bound that a black one lies under', () => {
    const wall = (backgroundLevelStops: number | null, more: FakeFrame = {}) => {
      const { backgroundLevelStops: level, darkBackgroundAtMostStops: atMost } = factOf({
        backgroundLevelStops,
        ...more,
      });
      return [level, atMost];
    };
    expect(wall(-1)).toEqual([-1, null]);
    expect([wall(2.1), wall(2.11)]).toEqual([
      [2.1, null],
      [null, null],
    ]);
    expect([wall(-6.5), wall(-6.51)]).toEqual([
      [-6.5, null],
      [null, -6.5],
    ]);
    expect([wall(-1, { backgroundShare: 0.03 }), wall(-1, { backgroundShare: 0.029 })]).toEqual([
      [-1, null],
      [null, null],
    ]);
    expect([wall(null), wall(-1, { person: false })]).toEqual([
      [null, null],
      [null, null],
    ]);
  });

  it('has a bright side where the halves differ by 0.6 stop', () => {
    expect([
      factOf({ sideToSideStops: 0.6 }).brightSide,
      factOf({ sideToSideStops: 0.59 }).brightSide,
      factOf({ sideToSideStops: null }).brightSide,
    ]).toEqual([1, null, null]);
    const input = inputOf('F1');
    const face = input.measurement.people[0]?.face;
    if (face) face.brightSide = 'image-right';
    expect(factsOf(input, input.measurement, 3, 1000)).toMatchObject({
      brightSide: -1,
      place: 3,
      clockAheadMs: 1000,
      epochMs: START_MS - 1000,
    });
  });

  it('has the slope of its profile, where legs show and six heights tell', () => {
    const slope = (
      profileLevelsStops: number[],
      lowerBody: FakeFrame['lowerBody'] = { levelStops: 0, basis: 'skin' },
    ) => factOf({ profileLevelsStops, lowerBody }).profileSlopeStops;
    // Six heights a sixth apart, a third of a stop less at each: two stops a body.
    expect(slope([0, 1, 2, 3, 4, 5].map((i) => 1 - i / 3))).toBeCloseTo(-2, 9);
    expect(slope([0, 1, 2, 3, 4].map((i) => 1 - i / 3))).toBeNull();
    expect(slope([0, 1, 2, 3, 4, 5], null)).toBeNull();
    expect(slope([1, 2, 1, 2, 1, 2, NaN])).toBeCloseTo(0.6, 1);
  });

  it('has log2 of crop and focal length, the 35 mm equivalent first', () => {
    expect(factOf({ faceHeightShare: 0.125, focalLengthMm: 64 })).toMatchObject({ cropLog2: -3, focalLog2: 6 });
    expect(factOf({ person: false, focalLengthMm: null })).toMatchObject({ cropLog2: null, focalLog2: null });
    const input = inputOf('F1', { focalLengthMm: 64 });
    input.measurement.exposure.focalLength35mmMm = 128;
    expect(factsOf(input, input.measurement, 0).focalLog2).toBe(7);
  });

  it('was exposed by the camera where program or mode say so', () => {
    const auto = (exposureProgram: string | null, exposureMode: string | null = null) => {
      const input = inputOf('F1', { exposureProgram });
      input.measurement.exposure.exposureMode = exposureMode;
      return factsOf(input, input.measurement, 0).autoExposure;
    };
    expect(
      ['aperture priority', 'Normal program', 'Creative', 'action', 'Portrait', 'landscape'].map((name) => auto(name)),
    ).toEqual(Array(6).fill(true));
    expect([auto('manual'), auto(null), auto('manual', 'Auto bracket'), auto(null, 'manual')]).toEqual([
      false,
      false,
      true,
      false,
    ]);
  });
});
