import { createHash } from 'node:crypto';
import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import sharp from 'sharp';
import { withExif } from '../../samples/make/exif.js';
import { type Random, seededRandom } from '../../samples/make/random.js';
import { ShootTruth } from '../../samples/make/truth.js';
import { PROJECT_FOLDER } from './compose-commands.js';

export interface SimulatedFrame {
  name: string;
  bytes: Buffer;
  sha256: string;
}

export const SAMPLES = join(PROJECT_FOLDER, 'samples');

/** A frame with another level than its neighbours comes about so often. */
const ODD_SHARE = 0.05;
const SECONDS_BETWEEN = 7;
const PIECE_PX = 96;

const two = (n: number): string => String(n).padStart(2, '0');

/** Local time of the frame, counted from ten o'clock. */
function clockTime(index: number): string {
  const seconds = index * SECONDS_BETWEEN;
  return `2026:05:16 ${two(10 + Math.floor(seconds / 3600))}:${two(Math.floor(seconds / 60) % 60)}:${two(seconds % 60)}`;
}

interface SampleFrame {
  name: string;
  settings: ShootTruth['frames'][number]['settings'];
}

/** The sample shoot's picture made small: the whole of it, or a piece of wall without anybody. */
async function picture(sample: SampleFrame, what: 'whole' | 'piece', widthPx: number, gain: number): Promise<Buffer> {
  const upright = sharp(await readFile(join(SAMPLES, 'shoot', sample.name))).autoOrient();
  const cut =
    what === 'whole'
      ? upright.resize({ width: widthPx })
      : upright.extract({ left: 0, top: 0, width: PIECE_PX, height: PIECE_PX });
  return cut.linear(gain, 0).jpeg({ quality: 85 }).toBuffer();
}

function gainOf(random: Random): number {
  const repeatability = 1 + 0.02 * (random.uniform() - 0.5);
  return random.uniform() < ODD_SHARE ? 0.75 * repeatability : repeatability;
}

export interface SimulationOptions {
  frames: number;
  seed: string;
  /** Of the frames that show a person; the others are small pieces of wall, which are measured in half the time. */
  widthPx: number;
  /** Every so many frames show a person; 1: all of them. */
  wholeEvery: number;
}

/**
 * Small frames made of the sample shoot, which the virtual camera made: each with Exif of its own, a lamp that repeats
 * within a hundredth and now and then a wrong level. Equal options, equal bytes.
 */
export async function simulatedFrames(options: SimulationOptions): Promise<SimulatedFrame[]> {
  const truth = ShootTruth.parse(JSON.parse(await readFile(join(SAMPLES, 'truth.json'), 'utf8')));
  const frames: SimulatedFrame[] = [];
  for (let index = 0; index < options.frames; index += 1) {
    const name = `SIM_${String(index + 1).padStart(4, '0')}.jpg`;
    const random = seededRandom(`${options.seed} ${name}`);
    // Set-ups stay together: the shoot is stretched, not shuffled.
    const sample = truth.frames[Math.floor((index * truth.frames.length) / options.frames)] as SampleFrame;
    const what = index % options.wholeEvery === 0 ? 'whole' : 'piece';
    const jpeg = await picture(sample, what, options.widthPx, gainOf(random));
    const { width, height } = await sharp(jpeg).metadata();
    const { fNumber, exposureTimeSeconds, iso } = sample.settings;
    const bytes = withExif(jpeg, {
      make: 'Village Hall Cameras',
      model: 'VHC Trestle 2',
      lensModel: 'Trestle 50-110mm F4',
      software: 'Trestle firmware 1.3',
      serial: 'VH-000417',
      orientation: 1,
      exposureTime: [1, Math.round(1 / exposureTimeSeconds)],
      fNumber: [Math.round(fNumber * 10), 10],
      iso,
      flash: 9,
      focalLengthMm: 70,
      focalLength35mmMm: 70,
      dateTimeOriginal: clockTime(index),
      subSecTimeOriginal: '00',
      offsetTimeOriginal: '+01:00',
      exposureProgram: 1,
      meteringMode: 3,
      whiteBalance: 1,
      widthPx: width,
      heightPx: height,
    });
    frames.push({ name, bytes, sha256: createHash('sha256').update(bytes).digest('hex') });
  }
  return frames;
}

/** The sample shoot's own frames. */
export async function sampleFrames(): Promise<SimulatedFrame[]> {
  const truth = ShootTruth.parse(JSON.parse(await readFile(join(SAMPLES, 'truth.json'), 'utf8')));
  return Promise.all(
    truth.frames.map(async ({ name }) => {
      const bytes = await readFile(join(SAMPLES, 'shoot', name));
      return { name, bytes, sha256: createHash('sha256').update(bytes).digest('hex') };
    }),
  );
}
