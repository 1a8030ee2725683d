import { describe, expect, it } from 'vitest';
import sharp from 'sharp';
import { CAMERA_CURVES } from '../../samples/make/camera-curves.js';
import { seededRandom } from '../../samples/make/random.js';
import { MeasuringOptions } from '../../src/contracts/options.js';
import { ShootPlan } from '../../src/contracts/plan.js';
import type { FrameMeasurement } from '../../src/contracts/measurement.js';
import { LOCAL_TONE_MAPPING_UNCERTAINTY_STOPS } from '../../src/photometry/tone-response.js';
import { linearToSrgbCode8Rounded } from '../../src/photometry/srgb.js';
import { judgeShoot } from '../../src/shoot/judge.js';
import { learnResponse, lightOfReading } from '../../src/shoot/rendering/learned-response.js';
import { matchDistributions } from '../../src/shoot/rendering/match-distributions.js';
import { prepareFrames } from '../../src/shoot/rendering/prepare-frames.js';
import { SATURATION_LINEAR } from '../../worker/decode/decode-raw.js';
import { measureFrame } from '../../worker/measure-frame.js';
import { mosaicOf, writeDng } from '../support/dng-writer.js';
import { fakeMeasurement } from '../support/measurement.js';

const CURVE = CAMERA_CURVES['hard-toe'];
const [WIDTH, HEIGHT] = [640, 480];

/** A scene of patches over eight stops: light at a pixel, 1 = diffuse white. */
function scene(seed: string): (x: number, y: number) => number {
  const random = seededRandom(seed);
  const patches = Array.from({ length: 20 * 15 }, () => 0.18 * 2 ** (8 * random.uniform() - 5.5));
  return (x, y) => patches[Math.floor(y / 32) * 20 + Math.floor(x / 32)] ?? 0;
}

/** The camera's JPEG of a scene through the hard curve. */
async function jpegOf(light: (x: number, y: number) => number): Promise<Buffer> {
  const data = Buffer.alloc(WIDTH * HEIGHT * 3);
  for (let y = 0; y < HEIGHT; y++)
    for (let x = 0; x < WIDTH; x++)
      data.fill(
        linearToSrgbCode8Rounded(CURVE.toFileLinear(light(x, y))),
        (y * WIDTH + x) * 3,
        (y * WIDTH + x) * 3 + 3,
      );
  return sharp(data, { raw: { width: WIDTH, height: HEIGHT, channels: 3 } })
    .jpeg({ quality: 95 })
    .toBuffer();
}

function dngOf(light: (x: number, y: number) => number, preview?: Buffer): Buffer {
  const mosaic = mosaicOf(WIDTH, HEIGHT, 512, 15_871, (x, y) => {
    const share = light(x, y) / SATURATION_LINEAR;
    return [share, share, share];
  });
  return writeDng({
    mosaic,
    widthPx: WIDTH,
    heightPx: HEIGHT,
    blackLevel: 512,
    whiteLevel: 15_871,
    neutral: [1, 1, 1],
    ...(preview ? { preview: { jpeg: preview, widthPx: WIDTH, heightPx: HEIGHT } } : {}),
  });
}

const options = MeasuringOptions.parse({ findPeople: false });
const plan = ShootPlan.parse({});

/** Stops of light between two grey levels, as read by a JPEG of this camera through `response`. */
async function readStep(read: (level: number) => number, from: number, to: number): Promise<number> {
  const level = async (stops: number) => {
    const { measurement } = await measureFrame(await jpegOf(() => 0.18 * 2 ** stops), options);
    return read(measurement.tone.meanLevelStops!);
  };
  return (await level(to)) - (await level(from));
}

describe('two renderings of one exposure teach the response', () => {
  it('from the JPEG inside a raw; steps come out true', async () => {
    const light = scene('inside');
    const { measurement } = await measureFrame(dngOf(light, await jpegOf(light)), options);
    expect(measurement.ownRendering).not.toBeNull();
    const learned = learnResponse(
      [matchDistributions(measurement.tone.stopsHistogram, measurement.ownRendering!)],
      'exposures in two renderings',
    );
    expect(learned).not.toBeNull();
    for (const [from, to] of [
      [-3, -2],
      [-2, -1],
      [-1, 0],
      [0, 1],
    ] as const) {
      const step = await readStep((level) => lightOfReading(learned!, level), from, to);
      expect(Math.abs(step - 1), `from ${from}`).toBeLessThan(0.08);
    }
    // Without it the hard curve reads far more than a stop.
    expect(await readStep((level) => level, -2, -1)).toBeGreaterThan(1.1);
  });

  it('a raw without a picture of its own teaches nothing', async () => {
    const { measurement } = await measureFrame(dngOf(scene('none')), options);
    expect(measurement.ownRendering).toBeNull();
  });
});

const at = (second: number) => ({
  iso: `2026-05-16T10:00:0${second}`,
  epochMs: Date.UTC(2026, 4, 16, 10, 0, second),
  offsetKnown: true,
  subSecondsKnown: false,
});

/** A real measurement given the camera and time that pairing looks at. */
function as(measurement: FrameMeasurement, second: number, cameraModel = 'Trestle 4'): FrameMeasurement {
  return {
    ...measurement,
    exposure: { ...measurement.exposure, cameraMake: 'Village Hall Cameras', cameraModel, capturedAt: at(second) },
  };
}

describe('raw and JPEG of one exposure', () => {
  const frame = (name: string, measurement: FrameMeasurement) => ({
    name,
    measurement,
    failure: null,
    measurementHref: null,
  });

  it('are one frame, judged on the raw; the pair is named; other JPEGs of that camera are read through what it taught', async () => {
    const light = scene('pair');
    const raw = as((await measureFrame(dngOf(light), options)).measurement, 1);
    const jpeg = as((await measureFrame(await jpegOf(light), options)).measurement, 1);
    const later = as((await measureFrame(await jpegOf(scene('later')), options)).measurement, 5);
    const frames = [frame('P1.DNG', raw), frame('p1.jpg', jpeg), frame('P2.jpg', later)];
    const report = judgeShoot({ shoot: { id: 's', name: 's' }, plan, frames });
    expect(report.frames.map((f) => f.name)).toEqual(['P1.DNG', 'P2.jpg']);
    expect(report.summary.otherRenderings).toEqual([{ frame: 'P1.DNG', rendering: 'p1.jpg' }]);
    expect(report.frames[0]?.toneResponse?.source).toBe('scene');
    expect(report.frames[1]?.toneResponse?.source).toBe('learned');
    // The hard curve's own slope at mid-grey is 1.7.
    expect(Math.abs((report.frames[1]?.toneResponse?.slopeAtMid ?? 0) - 1.7)).toBeLessThan(0.15);
  });

  it('a phone teaches nothing for its next picture', async () => {
    const light = scene('pair');
    const raw = as((await measureFrame(dngOf(light), options)).measurement, 1);
    const jpeg = as((await measureFrame(await jpegOf(light), options)).measurement, 1);
    const later = as((await measureFrame(await jpegOf(scene('later')), options)).measurement, 5);
    const local = {
      ...later,
      toneResponse: { ...later.toneResponse, uncertaintyStops: LOCAL_TONE_MAPPING_UNCERTAINTY_STOPS },
    };
    const { frames } = prepareFrames([frame('P1.DNG', raw), frame('p1.jpg', jpeg), frame('P2.jpg', local)], plan);
    expect(frames.map((f) => f.measurement?.toneResponse.source)).toEqual(['scene', 'assumed']);
  });

  it('pair, and teach, where only the raw knows its serial number, and not where both know another', async () => {
    const light = scene('pair');
    const raw = as((await measureFrame(dngOf(light), options)).measurement, 1);
    const jpeg = as((await measureFrame(await jpegOf(light), options)).measurement, 1);
    const later = as((await measureFrame(await jpegOf(scene('later')), options)).measurement, 5);
    const withSerial = (m: FrameMeasurement, cameraSerial: string | null): FrameMeasurement => ({
      ...m,
      exposure: { ...m.exposure, cameraSerial },
    });
    const three = (a: string | null, b: string | null) =>
      prepareFrames(
        [
          frame('P1.DNG', withSerial(raw, a)),
          frame('p1.jpg', withSerial(jpeg, b)),
          frame('P2.jpg', withSerial(later, b)),
        ],
        plan,
      ).frames.map((f) => `${f.name} ${f.measurement?.toneResponse.source}`);
    const learned = ['P1.DNG scene', 'P2.jpg learned'];
    expect(three('0042', null)).toEqual(learned);
    expect(three(null, '42')).toEqual(learned);
    expect(three('0042', '42')).toEqual(learned);
    expect(three('42', '43')).toEqual(['P1.DNG scene', 'p1.jpg assumed', 'P2.jpg assumed']);
  });

  it.each([
    ['another stem', 'P9.jpg', 1, 'Trestle 4'],
    ['another moment', 'P1.jpg', 7, 'Trestle 4'],
    ['another camera', 'P1.jpg', 1, 'Gable 2'],
  ])('%s: two frames', async (_what, name, second, model) => {
    const raw = as((await measureFrame(dngOf(scene('a')), options)).measurement, 1);
    const jpeg = as((await measureFrame(await jpegOf(scene('a')), options)).measurement, second, model);
    const { frames } = prepareFrames([frame('P1.DNG', raw), frame(name, jpeg)], plan);
    expect(frames).toHaveLength(2);
  });
});

describe('settings that changed under one light teach the slope', () => {
  /** Frames at ISO 100 and 200 in turn, read with a slope error and a little noise. */
  const shoot = (slope: number, noise: number) => {
    const random = seededRandom(`settings ${slope} ${noise}`);
    return Array.from({ length: 14 }, (_, i) => {
      const stops = i % 2;
      const read = (level: number) => level + slope * stops + noise * random.normal();
      const measurement = fakeMeasurement({
        iso: 100 * 2 ** stops,
        faceLevelStops: read(0.3),
        backgroundLevelStops: read(-0.8),
        capturedAtMs: Date.UTC(2026, 4, 16, 10, 0, 5 * i),
      });
      return { name: `F${i}.jpg`, measurement, failure: null, measurementHref: null };
    });
  };

  it('one stop that reads as 1.2 is read as 1', () => {
    const { frames } = prepareFrames(shoot(1.2, 0.02), plan);
    const [a, b] = frames;
    expect(a?.measurement?.toneResponse.source).toBe('learned');
    const step = b!.measurement!.background.levelStops! - a!.measurement!.background.levelStops!;
    expect(Math.abs(step - 1)).toBeLessThan(0.08);
  });

  it('noisy or compensated changes teach nothing', () => {
    for (const frames of [shoot(1.2, 0.3), shoot(0.05, 0.02)])
      expect(prepareFrames(frames, plan).frames[0]?.measurement?.toneResponse.source).toBe('assumed');
  });
});
