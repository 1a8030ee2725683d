import { describe, expect, it } from 'vitest';
import { ShootPlan } from '../../src/contracts/plan.js';
import type { FrameMeasurement } from '../../src/contracts/measurement.js';
import type { JudgedFrameInput } from '../../src/shoot/input.js';
import { pairRenderings } from '../../src/shoot/rendering/pair-renderings.js';
import { prepareFrames } from '../../src/shoot/rendering/prepare-frames.js';
import { cameraNames, canBeOneCamera } from '../../src/shoot/rendering/same-camera.js';
import { fakeMeasurement, type FakeFrame } from '../support/measurement.js';
import { histogramOf } from '../support/histogram.js';

const camera = (
  cameraSerial: string | null,
  cameraModel: string | null = 'Hall',
  cameraMake: string | null = 'Maker',
) => ({
  cameraMake,
  cameraModel,
  cameraSerial,
});

const frame = (name: string, fake: FakeFrame = {}, more: Partial<FrameMeasurement> = {}): JudgedFrameInput => ({
  name,
  measurement: { ...fakeMeasurement(fake), ...more },
  failure: null,
  measurementHref: null,
});
const raw = (name: string, fake: FakeFrame = {}) =>
  frame(name, { encoding: 'scene', toneResponse: { source: 'scene', slopeAtMid: 1, uncertaintyStops: 0 }, ...fake });
const namesOf = (frames: readonly JudgedFrameInput[]) => frames.map(({ name }) => name);
const pairsOf = (frames: readonly JudgedFrameInput[]) =>
  pairRenderings(frames).pairs.map((pair) => [pair.frame.name, pair.rendering.name]);

describe('two files can be of one camera', () => {
  it('of one model whose serial numbers are equal, zeros in front and blanks aside, or unknown', () => {
    expect(canBeOneCamera(camera('42'), camera('42'))).toBe(true);
    expect(canBeOneCamera(camera('0042'), camera(' 42 '))).toBe(true);
    expect(canBeOneCamera(camera('4200'), camera('42'))).toBe(false);
    expect(canBeOneCamera(camera('42'), camera('43'))).toBe(false);
    for (const unknown of [null, '', '  ', '000'])
      expect([canBeOneCamera(camera('42'), camera(unknown)), canBeOneCamera(camera(unknown), camera('42'))]).toEqual([
        true,
        true,
      ]);
  });

  it('not of two models, nor of two makers; a maker may be missing', () => {
    expect(canBeOneCamera(camera(null, 'Hall'), camera(null, 'Gable'))).toBe(false);
    expect(canBeOneCamera(camera(null, 'Hall', 'A'), camera(null, 'Hall', 'B'))).toBe(false);
    expect(canBeOneCamera(camera(null, 'Hall', 'A'), camera(null, 'Hall', null))).toBe(true);
    expect(canBeOneCamera(camera(null, 'Hall', null), camera(null, 'Hall', 'B'))).toBe(true);
  });
});

describe('the cameras of a shoot', () => {
  it('one serial number names all files of its model; of several, files without one are apart', () => {
    const one = cameraNames([camera('0042'), camera(null), camera('9', 'Gable')]);
    expect(one(camera(null))).toBe(one(camera('42')));
    expect(one(camera('9', 'Gable'))).not.toBe(one(camera('42')));
    expect(one(camera(null, 'Gable'))).toBe(one(camera('9', 'Gable')));
    const two = cameraNames([camera('42'), camera('43'), camera('42')]);
    expect(new Set([two(camera('42')), two(camera('43')), two(camera(null))]).size).toBe(3);
    expect(two(camera('042'))).toBe(two(camera('42')));
  });

  it('without any serial number a model is one camera, and models and makers are told apart', () => {
    const of = cameraNames([camera(null), camera(null)]);
    expect(of(camera(null))).toBe(of(camera('')));
    expect(of(camera(null, 'Gable'))).not.toBe(of(camera(null)));
    expect(of(camera(null, 'Hall', 'Other'))).not.toBe(of(camera(null)));
  });
});

describe('raw and JPEG of one exposure', () => {
  const at = (capturedAtMs: number | null): FakeFrame => ({ capturedAtMs });

  it('share a stem, whatever its case and their endings: the raw stays', () => {
    const frames = [frame('a/P1.b.jpg'), raw('a/P1.B.NEF'), raw('P2.NEF'), frame('p2.heif'), frame('P3.jpg')];
    const { frames: kept, pairs } = pairRenderings(frames);
    expect(namesOf(kept)).toEqual(['a/P1.B.NEF', 'P2.NEF', 'P3.jpg']);
    expect(pairs.map((pair) => [pair.frame.name, pair.rendering.name])).toEqual([
      ['a/P1.B.NEF', 'a/P1.b.jpg'],
      ['P2.NEF', 'p2.heif'],
    ]);
    expect(pairsOf([raw('a.P1.NEF'), frame('a.P2.jpg')])).toEqual([]);
    expect(pairsOf([raw('b/P1.NEF'), frame('a/P1.jpg')])).toEqual([]);
  });

  it('were taken within a second: clocks write whole seconds into one file and fractions into the other', () => {
    expect(pairsOf([raw('P.NEF', at(5_000)), frame('P.jpg', at(5_999))])).toHaveLength(1);
    expect(pairsOf([raw('P.NEF', at(5_999)), frame('P.jpg', at(5_000))])).toHaveLength(1);
    expect(pairsOf([raw('P.NEF', at(5_000)), frame('P.jpg', at(6_000))])).toHaveLength(0);
    expect(pairsOf([raw('P.NEF', at(null)), frame('P.jpg', at(null))])).toHaveLength(0);
    expect(pairsOf([raw('P.NEF', at(0)), frame('P.jpg', at(null))])).toHaveLength(0);
    expect(pairsOf([raw('P.NEF', at(null)), frame('P.jpg', at(0))])).toHaveLength(0);
  });

  it('of two raws with one stem the one of the same moment and camera', () => {
    const frames = [raw('P.NEF', at(0)), raw('p.nef', at(60_000)), raw('P.nef', { ...at(60_000), camera: 'Gable' })];
    expect(pairsOf([...frames, frame('P.jpg', at(60_000))])).toEqual([['p.nef', 'P.jpg']]);
  });

  it('a raw that could not be measured takes nothing away, nor does a JPEG that was not', () => {
    const unread = { ...raw('P.NEF'), measurement: null };
    expect(namesOf(pairRenderings([unread, frame('P.jpg')]).frames)).toEqual(['P.NEF', 'P.jpg']);
    const { frames, pairs } = pairRenderings([raw('P.NEF'), { ...frame('P.jpg'), measurement: null }, raw('P.DNG')]);
    expect([namesOf(frames), pairs]).toEqual([['P.NEF', 'P.jpg', 'P.DNG'], []]);
  });

  it('are told in the order of the renderings’ names, in whatever order they came', () => {
    const frames = ['P3', 'P1', 'P2'].flatMap((stem) => [frame(`${stem}.jpg`), raw(`${stem}.NEF`)]);
    expect(pairsOf(frames).map(([, rendering]) => rendering)).toEqual(['P1.jpg', 'P2.jpg', 'P3.jpg']);
    expect(prepareFrames(frames, ShootPlan.parse({})).otherRenderings).toEqual([
      { frame: 'P1.NEF', rendering: 'P1.jpg' },
      { frame: 'P2.NEF', rendering: 'P2.jpg' },
      { frame: 'P3.NEF', rendering: 'P3.jpg' },
    ]);
  });
});

describe('what two renderings of one exposure teach', () => {
  /* The picture's light spreads evenly over two stops about mid-grey; its rendering over four: two stops read for one. */
  const light = histogramOf(-1, 1);
  const tone = { ...fakeMeasurement().tone, stopsHistogram: light };
  const read = { ...tone, stopsHistogram: histogramOf(-2, 2) };
  const plan = ShootPlan.parse({});
  const sourcesOf = (frames: readonly JudgedFrameInput[]) =>
    prepareFrames(frames, plan).frames.map((f) => `${f.name} ${f.measurement?.toneResponse.source}`);
  const scene = { encoding: 'scene', toneResponse: { source: 'scene', slopeAtMid: 1, uncertaintyStops: 0 } } as const;
  const pair = (fake: FakeFrame = {}) => [
    frame('P1.NEF', { ...scene, ...fake }, { tone }),
    frame('P1.jpg', fake, { tone: read }),
  ];

  it('is read into that camera’s other files: half of what was read, with the slope that goes with it', () => {
    const other = frame('P2.jpg', { backgroundLevelStops: -1, toneResponse: { slopeAtMid: 1.4 } });
    const { frames } = prepareFrames([...pair(), other], plan);
    expect(namesOf(frames)).toEqual(['P1.NEF', 'P2.jpg']);
    const { toneResponse, background } = frames[1]!.measurement!;
    expect(background.levelStops).toBeCloseTo(-0.5, 9);
    // Read through the assumed curve a stop came out as two, so the camera's own slope is twice the assumed one.
    expect(toneResponse.slopeAtMid).toBeCloseTo(2.8, 9);
    expect(toneResponse).toMatchObject({
      source: 'learned',
      because: 'learned in this shoot from 1 exposures in two renderings, over 3.7 stops',
    });
    expect(frames[0]!.measurement!.toneResponse.source).toBe('scene');
  });

  it('not into another camera’s, nor into files whose response is known', () => {
    expect(
      sourcesOf([
        ...pair(),
        frame('P2.jpg', { camera: 'Gable' }),
        frame('P3.jpg', { toneResponse: { source: 'calibrated' } }),
        { ...frame('P4.jpg'), measurement: null },
        frame('P5.jpg'),
      ]),
    ).toEqual(['P1.NEF scene', 'P2.jpg assumed', 'P3.jpg calibrated', 'P4.jpg undefined', 'P5.jpg learned']);
  });

  it('also from the picture that a raw holds of itself', () => {
    const own = frame('P1.NEF', scene, { tone, ownRendering: read.stopsHistogram });
    expect(sourcesOf([own, frame('P2.jpg')])).toEqual(['P1.NEF scene', 'P2.jpg learned']);
    expect(sourcesOf([frame('P1.NEF', scene, { tone }), frame('P2.jpg')])).toEqual(['P1.NEF scene', 'P2.jpg assumed']);
  });

  it('by serial number: of two bodies of one model only the one that was seen twice is read anew', () => {
    const withSerial = (f: JudgedFrameInput, cameraSerial: string | null): JudgedFrameInput => ({
      ...f,
      measurement: { ...f.measurement!, exposure: { ...f.measurement!.exposure, cameraSerial } },
    });
    const [first, second] = pair() as [JudgedFrameInput, JudgedFrameInput];
    const shoot = (serial: string | null) =>
      sourcesOf([withSerial(first, '0042'), second, withSerial(frame('P2.jpg'), serial)]).at(-1);
    expect([shoot('42'), shoot(null), shoot('43')]).toEqual(['P2.jpg learned', 'P2.jpg learned', 'P2.jpg assumed']);
  });

  it('else settings that changed under one light teach, each camera for itself', () => {
    const start = 1_780_000_000_000;
    const changed = (i: number, slope: number): FakeFrame => ({
      iso: 100 * 2 ** (i % 2),
      faceLevelStops: 0.3 + slope * (i % 2),
      backgroundLevelStops: -0.8 + slope * (i % 2),
      capturedAtMs: start + 5_000 * i,
    });
    const hall = Array.from({ length: 8 }, (_, i) => frame(`H${i}.jpg`, changed(i, 1.2)));
    // Between them another camera, whose frames would come between in time, and calibrated frames that fit nothing.
    const gable = Array.from({ length: 8 }, (_, i) =>
      frame(`G${i}.jpg`, { ...changed(i, 0), camera: 'Gable', capturedAtMs: start + 5_000 * i + 1_000 }),
    );
    const calibrated = Array.from({ length: 8 }, (_, i) =>
      frame(`C${i}.jpg`, {
        ...changed(i, 3),
        capturedAtMs: start + 5_000 * i + 2_000,
        toneResponse: { source: 'calibrated' },
      }),
    );
    const { frames } = prepareFrames([...hall, ...gable, ...calibrated], plan);
    const sources = frames.map((f) => f.measurement!.toneResponse.source);
    expect(sources).toEqual([
      ...hall.map(() => 'learned'),
      ...gable.map(() => 'assumed'),
      ...calibrated.map(() => 'calibrated'),
    ]);
    const walls = frames.slice(0, 2).map((f) => f.measurement!.background.levelStops!);
    expect(walls[1]! - walls[0]!).toBeCloseTo(1, 9);
  });

  it('nothing, where the rendering itself was read through a known response', () => {
    const [first, second] = pair() as [JudgedFrameInput, JudgedFrameInput];
    const known = {
      ...second.measurement!,
      toneResponse: { ...second.measurement!.toneResponse, source: 'none' as const },
    };
    expect(sourcesOf([first, { ...second, measurement: known }, frame('P2.jpg')])).toEqual([
      'P1.NEF scene',
      'P2.jpg assumed',
    ]);
  });
});
