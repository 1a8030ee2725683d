/** The virtual camera: a light render and a specification to a JPEG file, with the truth of what it shows. */
import sharp from 'sharp';
import { CAMERA_CURVES, type CameraCurve, type CameraCurveName } from './camera-curves.js';
import { castGains } from './cast.js';
import { withExif } from './exif.js';
import { exposureFactors, type LightState, type Settings } from './exposure.js';
import { resampleIds, resampleLinear, type Framing } from './framing.js';
import { frameTruth, type PixelTruth } from './pixel-truth.js';
import { seededRandom } from './random.js';
import { buildScene, type SceneOptions } from './scene.js';
import { expose } from './sensor.js';

/** Everything that decides a frame's bytes. */
export interface FrameSpec {
  /** `FIGURE-LIGHT`, a render of the studio folder. */
  render: string;
  scene: SceneOptions;
  settings: Settings;
  light: LightState;
  /** Cast of the hall's lamps against the flash, in mireds; positive is warmer. */
  ambientCastMired: number;
  /** What the camera's white balance is off by, in mireds; positive makes the picture warmer. */
  castShiftMired: number;
  curve: CameraCurveName | CameraCurve;
  framing: Framing;
  /** Exif orientation under which the pixels are stored. */
  storedOrientation: 1 | 3 | 6 | 8;
  jpeg: { quality: number; chroma: '4:2:0' | '4:4:4' };
  /** Null writes no Exif at all. */
  exif: ExifSpec | null;
  /** Names the noise: equal seeds, equal noise. */
  seed: string;
}

export interface ExifSpec {
  /** Local `YYYY:MM:DD HH:MM:SS`. */
  dateTimeOriginal: string;
  subSecTimeOriginal: string;
  offsetTimeOriginal: string;
  focalLengthMm: number;
  /** Exif Flash, tag 9209: 9 fired, forced on. */
  flash: number;
  serial: string;
  /** Exif ExposureProgram: 1 manual (where left out), 3 aperture priority. */
  exposureProgram?: 1 | 3;
}

export interface RenderedFrame {
  jpeg: Buffer;
  truth: PixelTruth;
}

/** Settings used where a specification leaves them out; a plain frame of `ada-front` as the meter would have it. */
export function plainFrame(render: string, changes: Partial<FrameSpec> = {}): FrameSpec {
  const settings: Settings = { fNumber: 8, shutterDenominator: 125, iso: 100 };
  return {
    render,
    scene: { sameWall: false, lowFillStops: 0, secondLight: null },
    settings,
    light: { metered: settings, powerStops: 0, faceMeanStops: 0, ambientStops: -9 },
    ambientCastMired: 0,
    castShiftMired: 0,
    curve: 'hall',
    framing: { crop: { x: 0, y: 0, width: 1, height: 1 }, mirrored: false, widthPx: 640, heightPx: 960 },
    storedOrientation: 1,
    jpeg: { quality: 90, chroma: '4:4:4' },
    exif: {
      dateTimeOriginal: '2026:05:16 10:00:00',
      subSecTimeOriginal: '00',
      offsetTimeOriginal: '+01:00',
      focalLengthMm: 85,
      flash: 9,
      serial: 'VH-000417',
    },
    seed: render,
    ...changes,
  };
}

const ROTATION_TO_STORE = { 1: 0, 3: 180, 6: 270, 8: 90 } as const;

async function encode(codes: Uint8Array, spec: FrameSpec): Promise<Buffer> {
  const { widthPx, heightPx } = spec.framing;
  const upright = sharp(codes, { raw: { width: widthPx, height: heightPx, channels: 3 } });
  const stored = await upright
    .rotate(ROTATION_TO_STORE[spec.storedOrientation])
    .jpeg({ quality: spec.jpeg.quality, chromaSubsampling: spec.jpeg.chroma })
    .toBuffer({ resolveWithObject: true });
  if (spec.exif === null) return stored.data;
  const tenths = Math.round(spec.settings.fNumber * 10);
  return withExif(stored.data, {
    make: 'Village Hall Cameras',
    model: 'VHC Trestle 2',
    lensModel: 'Trestle 50-110mm F4',
    software: 'Trestle firmware 1.3',
    serial: spec.exif.serial,
    orientation: spec.storedOrientation,
    exposureTime: [1, spec.settings.shutterDenominator],
    fNumber: [tenths, 10],
    iso: spec.settings.iso,
    flash: spec.exif.flash,
    focalLengthMm: spec.exif.focalLengthMm,
    focalLength35mmMm: spec.exif.focalLengthMm,
    dateTimeOriginal: spec.exif.dateTimeOriginal,
    subSecTimeOriginal: spec.exif.subSecTimeOriginal,
    offsetTimeOriginal: spec.exif.offsetTimeOriginal,
    exposureProgram: spec.exif.exposureProgram ?? 1,
    meteringMode: 3,
    whiteBalance: 1,
    widthPx: stored.info.width,
    heightPx: stored.info.height,
  });
}

/** Makes one frame and states what it shows. Throws when the render is not there. */
export async function renderFrameWithTruth(spec: FrameSpec): Promise<RenderedFrame> {
  const scene = await buildScene(spec.render, spec.scene);
  const grid = { widthPx: scene.render.widthPx, heightPx: scene.render.heightPx };
  const factors = exposureFactors(spec.settings, spec.light);
  const ambientGains = castGains(spec.ambientCastMired);
  const linear = resampleLinear(scene.linearRgb, grid, 3, spec.framing);
  const white = resampleLinear(scene.white, grid, 1, spec.framing);
  const parts = resampleIds(scene.render.parts, grid, spec.framing);
  const total = factors.flash + factors.ambient;
  const truth = frameTruth({
    linear,
    white,
    parts,
    exposureFactor: total,
    wholeParts: scene.render.parts,
    widthPx: spec.framing.widthPx,
  });
  for (let i = 0; i < linear.length; i++) {
    linear[i] = (linear[i] ?? 0) * (factors.flash + factors.ambient * (ambientGains[i % 3] ?? 1));
  }
  const curve = typeof spec.curve === 'string' ? CAMERA_CURVES[spec.curve] : spec.curve;
  const codes = expose(linear, {
    iso: spec.settings.iso,
    whiteBalance: castGains(spec.castShiftMired),
    curve,
    random: seededRandom(spec.seed),
  });
  return { jpeg: await encode(codes, spec), truth };
}

/** Makes one frame's JPEG bytes. */
export async function renderFrame(spec: FrameSpec): Promise<Buffer> {
  return (await renderFrameWithTruth(spec)).jpeg;
}

/**
 * A bracket of one still scene through one curve, under continuous light: a frame for each step, made by the shutter
 * alone from 1/125 s, so that Exif states the true steps. `stops`: whole stops, -6..+6; positive is brighter.
 * Throws RangeError for a step that no nominal shutter makes. Other exposures: `renderFrame` with other lamp powers.
 */
export async function bracketFrames(
  curve: CameraCurveName | CameraCurve,
  stops: readonly number[],
  changes: Partial<FrameSpec> & { render?: string } = {},
): Promise<{ stops: number; jpeg: Buffer; truth: PixelTruth }[]> {
  const frames: { stops: number; jpeg: Buffer; truth: PixelTruth }[] = [];
  for (const step of stops) {
    const base = plainFrame(changes.render ?? 'ada-front', changes);
    const metered: Settings = base.light.metered;
    // Continuous light: everything is ambient, so the shutter alone makes the step.
    const settings: Settings = {
      ...base.settings,
      shutterDenominator: nominalShutter(metered.shutterDenominator, step),
    };
    const frame = await renderFrameWithTruth({
      ...base,
      curve,
      settings,
      light: { metered, powerStops: null, faceMeanStops: 0, ambientStops: 0 },
      seed: `${base.seed} ${step}`,
    });
    frames.push({ stops: step, ...frame });
  }
  return frames;
}

const NOMINAL_SHUTTERS = [1, 2, 4, 8, 15, 30, 60, 125, 250, 500, 1000, 2000, 4000, 8000];

function nominalShutter(denominator: number, stops: number): number {
  const exactLog = Math.round(Math.log2(denominator)) - stops;
  const nominal = NOMINAL_SHUTTERS[exactLog];
  if (nominal === undefined || !Number.isInteger(exactLog)) {
    throw new RangeError(
      `a bracket step of ${stops} stops from 1/${denominator} s is not a whole-stop shutter of 1 s .. 1/8000 s`,
    );
  }
  return nominal;
}
