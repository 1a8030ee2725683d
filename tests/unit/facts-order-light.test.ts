import { describe, expect, it } from 'vitest';
import { ShootPlan } from '../../src/contracts/plan.js';
import { ambientShareOf, shutterStops } from '../../src/shoot/ambient-share.js';
import { automaticFrames } from '../../src/shoot/automatic-frames.js';
import { factsOf, mainPerson, type FrameFacts } from '../../src/shoot/facts.js';
import {
  difference,
  known,
  medianKnown,
  medianOf,
  middleOf,
  neighbourSpread,
  once,
  rounded,
  spreadKnown,
} from '../../src/shoot/known.js';
import { decideLightKind } from '../../src/shoot/light-kind.js';
import { compareNames, orderFrames } from '../../src/shoot/order.js';
import { cameraOf, tracksOf } from '../../src/shoot/tracks.js';
import { fakeMeasurement, type FakeFrame } from '../support/measurement.js';

const START_MS = 1_780_000_000_000;
const inputOf = (name: string, fake: FakeFrame = {}) => ({
  name,
  measurement: fakeMeasurement(fake),
  failure: null,
  measurementHref: null,
});
const factOf = (fake: FakeFrame = {}): FrameFacts => {
  const input = inputOf('F1', fake);
  return factsOf(input, input.measurement, 0);
};

describe('statistics of which some values are unknown', () => {
  it('leave the unknown ones out', () => {
    expect(known([1, null, 2])).toEqual([1, 2]);
    expect(medianKnown([3, null, 1, 2])).toBe(2);
    expect(medianKnown([4, 1, 2, 3])).toBe(2.5);
    expect(medianKnown([null])).toBeNull();
    expect(medianOf([{ a: 3 }, { a: 1 }], ({ a }, i) => a + i)).toBe(2.5);
    expect(middleOf([4, 1, 2, 3], (value) => value)).toBe(2);
    expect(middleOf([3, 1, 2], (value) => value)).toBe(2);
    expect(middleOf([null], (value) => value)).toBeNull();
  });

  it('are the same for few values and many, in whatever order', () => {
    for (const count of [1, 2, 23, 24, 25, 26, 300, 601]) {
      const mixed = Array.from({ length: count }, (_, i) => (i * 7919) % count);
      const middle = count % 2 === 1 ? (mixed.length - 1) / 2 : count / 2 - 0.5;
      // 7919 is prime, so for these counts the values are 0 … count - 1, each once.
      expect(medianKnown(mixed)).toBe(middle);
      expect(middleOf(mixed, (value) => value)).toBe(Math.floor(middle));
    }
  });

  it('know their spread: 1.4826 times the median deviation; from neighbours over the root of two', () => {
    expect(spreadKnown([0, null, 1, 2, 3, 4])).toBeCloseTo(1.482602, 6);
    expect(spreadKnown([1, null])).toBeNull();
    expect(spreadKnown([1, 1])).toBe(0);
    expect(neighbourSpread([0, 1, null, 2, 12])).toBeCloseTo(1.482602 / Math.SQRT2, 6);
    expect(neighbourSpread([0, 1, null])).toBeNull();
  });

  it('are rounded for reports, with no minus nought and nothing that JSON cannot hold', () => {
    expect(rounded(1.23456)).toBe(1.2346);
    expect(rounded(1.26, 1)).toBe(1.3);
    expect(Object.is(rounded(-0.00001), 0)).toBe(true);
    expect([rounded(null), rounded(NaN), rounded(Infinity)]).toEqual([null, null, null]);
    expect([difference(3, 1), difference(null, 1), difference(1, null)]).toEqual([2, null, null]);
  });

  it('are worked out once', () => {
    let times = 0;
    const value = once(() => ++times);
    expect([times, value(), value(), times]).toEqual([0, 1, 1, 1]);
  });
});

describe('the order of frames', () => {
  const at = (name: string, second: number | null, camera = 'A') =>
    inputOf(name, { capturedAtMs: second === null ? null : START_MS + 1000 * second, camera });
  const names = (frames: ReturnType<typeof at>[], ahead?: (frame: { name: string }) => number) =>
    orderFrames(frames, ahead).map(({ name }) => name);

  it('is by time, then by name as people count', () => {
    expect(names([at('F10', 1), at('F9', 1), at('F1', 2), at('F2', 0.5)])).toEqual(['F2', 'F9', 'F10', 'F1']);
    expect(names([at('b', null), at('a10', null), at('a9', null)])).toEqual(['a9', 'a10', 'b']);
    expect(names([])).toEqual([]);
  });

  it('takes off what a camera’s clock is ahead', () => {
    expect(names([at('B1', 10), at('A1', 5), at('A2', 9)], ({ name }) => (name === 'B1' ? 4000 : 0))).toEqual([
      'A1',
      'B1',
      'A2',
    ]);
  });

  it('puts frames without a time behind the last name before them, or first', () => {
    expect(names([at('F3', 1), at('F1', 2), at('F2', null), at('F0', null), at('F4', null), at('F5', null)])).toEqual([
      'F0',
      'F3',
      'F4',
      'F5',
      'F1',
      'F2',
    ]);
  });

  it('leaves the input alone', () => {
    const frames = [at('b', 2), at('a', 1)];
    orderFrames(frames);
    expect(frames.map(({ name }) => name)).toEqual(['b', 'a']);
  });

  it('of names: digits as numbers, then code units, then the shorter one', () => {
    const signs = (a: string, b: string) => [Math.sign(compareNames(a, b)), Math.sign(compareNames(b, a))];
    expect(signs('a2', 'a10')).toEqual([-1, 1]);
    expect(signs('a2b', 'a2c')).toEqual([-1, 1]);
    expect(signs('a', 'a1')).toEqual([-1, 1]);
    expect(signs('2', 'a')).toEqual([-1, 1]);
    expect(signs('a01', 'a1')).toEqual([-1, 1]);
    expect(signs('a1', 'a1')).toEqual([0, 0]);
  });
});

describe('tracks that can be compared', () => {
  it('are one a camera and encoding; frames without a camera join the only one', () => {
    const sizes = (...fakes: FakeFrame[]) => tracksOf(fakes.map(factOf)).map((track) => track.length);
    expect(sizes({}, {}, {})).toEqual([3]);
    expect(sizes({ camera: 'A' }, { camera: 'B' }, { camera: 'A' })).toEqual([2, 1]);
    expect(sizes({ encoding: 'scene' }, {}, {})).toEqual([1, 2]);
    expect(sizes({ camera: 'A' }, { camera: null })).toEqual([2]);
    expect(sizes({ camera: 'A' }, { camera: null }, { camera: 'B' })).toEqual([1, 1, 1]);
    expect(sizes({ camera: null }, { camera: null })).toEqual([2]);
    expect(sizes()).toEqual([]);
    const measurement = fakeMeasurement({ camera: 'Hall' });
    measurement.exposure.cameraSerial = '7';
    expect(cameraOf(measurement)).toBe('Maker Hall 7');
    measurement.exposure.cameraMake = '';
    expect(cameraOf(measurement)).toBe('Hall 7');
  });
});

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

describe('an automatic ISO', () => {
  const dials = (svs: number[], more = {}) => svs.map((sv) => ({ autoExposure: false, av: 6, tv: 7, sv, ...more }));

  it('shows by four values in five changes, all else standing', () => {
    expect(automaticFrames(dials([5, 6, 7, 8, 5, 6, 7, 8, 5]))[4]).toBe(true);
    expect(automaticFrames(dials([5, 6, 7, 5, 6, 7, 5, 6, 7]))[4]).toBe(false);
    expect(automaticFrames(dials([5, 5, 6, 7, 8, 8, 8, 8, 8]))[4]).toBe(false);
    expect(automaticFrames(dials([5, 5, 5, 5, 5]))).toEqual(Array(5).fill(false));
    expect(automaticFrames([])).toEqual([]);
    const opened = dials([5, 6, 7, 8, 5, 6, 7, 8, 5]);
    opened[2] = { autoExposure: false, av: 5, tv: 7, sv: 7 };
    expect(automaticFrames(opened)[4]).toBe(false);
    expect(automaticFrames(dials([5, 5], { autoExposure: true }))).toEqual([true, true]);
  });
});

describe('continuous light beside a flash', () => {
  /** A wall lit by flash and a share of ambient at 1/125 s, under these shutters, ten seconds apart. */
  const walls = (share: number, times: readonly number[], more: (i: number) => FakeFrame = () => ({})): FrameFacts[] =>
    times.map((seconds, i) =>
      factOf({
        exposureTimeSeconds: seconds,
        backgroundLevelStops: -1 + Math.log2(1 - share + share * 2 ** Math.round(Math.log2(125 * seconds))),
        capturedAtMs: START_MS + 10_000 * i,
        ...more(i),
      }),
    );
  const [USUAL, LONG] = [1 / 125, 1 / 60];
  const STEADY = [USUAL, USUAL, USUAL, USUAL];
  const CHANGES = [...STEADY, LONG, ...STEADY, LONG, ...STEADY];

  it('is found from what each change of shutter did to the wall: log2(1 - a + a r)', () => {
    const found = ambientShareOf([walls(0.5, CHANGES)], true);
    expect(found?.share).toBeCloseTo(0.5, 6);
    expect(found).toMatchObject({ usualTv: 7, changes: 4 });
    expect(ambientShareOf([walls(0.5, [...CHANGES, LONG, ...STEADY])], false)?.changes).toBe(6);
  });

  it('is none where the shutter did nothing, or all', () => {
    expect(ambientShareOf([walls(0, CHANGES)], true)).toBeNull();
    expect(ambientShareOf([walls(1, CHANGES)], true)).toBeNull();
    expect(ambientShareOf([walls(0.5, [USUAL, USUAL, USUAL])], true)).toBeNull();
    expect(ambientShareOf([], true)).toBeNull();
  });

  it('is found where the shutter changes with every frame, since the wall scatters by what frames of one shutter differ by', () => {
    const turns = Array.from({ length: 11 }, (_, i) => (i % 2 === 0 ? USUAL : LONG));
    const found = ambientShareOf([walls(0.5, turns)], true);
    expect(found?.share).toBeCloseTo(0.5, 6);
    expect(found?.changes).toBe(10);
    // Half a stop up and down under each of the two shutters, so that the share could be anything.
    const scattered = walls(0.5, turns).map((fact, i) => ({ ...fact, backgroundLevelStops: (fact.backgroundLevelStops ?? 0) + (i % 4 < 2 ? 0.25 : -0.25) })); // prettier-ignore
    expect(ambientShareOf([scattered], true)).toBeNull();
  });

  it('is as uncertain by a change back as by the change: sqrt(2) x 0.07 stop through ln 2 (1 - a + a r) / (r - 1)', () => {
    const one = Math.SQRT2 * 0.07 * Math.LN2 * 1.5;
    const ofTwo = (Math.sqrt(Math.PI / 2) * one) / Math.sqrt(2);
    const there = ambientShareOf([walls(0.5, [...STEADY, LONG, ...STEADY])], true);
    expect(there).toMatchObject({ changes: 2 });
    expect(there?.errorShare).toBeCloseTo(ofTwo, 6);
  });

  it('needs two changes with a flash that is known, four without, and in one go', () => {
    expect(ambientShareOf([walls(0.5, [...STEADY, LONG])], true)).toBeNull();
    expect(ambientShareOf([walls(0.5, [...STEADY, LONG, ...STEADY])], true)).not.toBeNull();
    expect(ambientShareOf([walls(0.5, [...STEADY, LONG, ...STEADY])], false)).toBeNull();
    expect(
      ambientShareOf([walls(0.5, CHANGES, (i) => ({ capturedAtMs: START_MS + 120_000 * i }))], true),
    ).not.toBeNull();
    expect(ambientShareOf([walls(0.5, CHANGES, (i) => ({ capturedAtMs: START_MS + 120_001 * i }))], true)).toBeNull();
  });

  it('is not read where another dial moved, the camera chose, or the wall is not there', () => {
    expect(ambientShareOf([walls(0.5, CHANGES, (i) => ({ iso: i % 5 === 4 ? 200 : 100 }))], true)).toBeNull();
    expect(ambientShareOf([walls(0.5, CHANGES, (i) => ({ fNumber: i % 5 === 4 ? 5.6 : 8 }))], true)).toBeNull();
    expect(ambientShareOf([walls(0.5, CHANGES, () => ({ exposureProgram: 'program' }))], true)).toBeNull();
    expect(ambientShareOf([walls(0.5, CHANGES, () => ({ backgroundShare: 0 }))], true)).toBeNull();
  });

  it('counts the shutter for its share', () => {
    expect(shutterStops(6, 0, 7)).toBe(0);
    expect(shutterStops(6, 1, 7)).toBe(-6);
    expect(shutterStops(7, 0.5, 7)).toBe(0);
    expect(shutterStops(6, 0.5, 7)).toBeCloseTo(Math.log2(1.5), 12);
  });
});

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
