/** A planned shoot turned into frame specifications, with the truth each will have. Deterministic. */
import type { FlagCode } from '../../src/contracts/report.js';
import { exposureFactors, settingsStops, type LightState } from './exposure.js';
import type { Framing } from './framing.js';
import type { PixelTruth } from './pixel-truth.js';
import { seededRandom, type Random } from './random.js';
import type { CameraCurveName } from './camera-curves.js';
import type { FramingKind, HallLamps, PlannedFrame, PlannedSetup } from './scenario.js';
import type { FrameTruth } from './truth.js';
import type { FrameSpec } from './virtual-camera.js';

export interface ShootFrame {
  name: string;
  spec: FrameSpec;
  truth(pixels: PixelTruth): FrameTruth;
}

/** Largest error of the lamp's repeatability, in stops. */
const LAMP_REPEATABILITY_STOPS = 0.04;

/** What a clean frame must never be called. */
const NEVER_ON_CLEAN: readonly FlagCode[] = [
  'level-off-baseline',
  'settings-changed',
  'settings-off-plan',
  'light-changed',
  'light-missing',
  'light-short',
  'face-dark',
  'face-bright',
  'lower-body-dark',
  'contrast-shifted',
  'background-shifted',
  'face-clipped',
  'cast-shifted',
  'no-exposure-data',
  'no-face',
  'unreadable',
];

/** Centre and height of the crop, as shares of the render, and the size of the frame. Renders are 2 : 3. */
const FRAMINGS: Record<FramingKind, { centreY: number; height: number; widthPx: number; heightPx: number }> = {
  full: { centreY: 0.5, height: 0.97, widthPx: 640, heightPx: 960 },
  'three-quarter': { centreY: 0.3, height: 0.56, widthPx: 640, heightPx: 960 },
  head: { centreY: 0.185, height: 0.34, widthPx: 640, heightPx: 800 },
};

function frame(kind: FramingKind, random: Random): Framing {
  const base = FRAMINGS[kind];
  const height = base.height * (kind === 'full' ? 1 - 0.02 * random.uniform() : 1 + 0.06 * (random.uniform() - 0.5));
  const width = (height * 960 * (base.widthPx / base.heightPx)) / 640;
  const shift = () => 0.02 * (random.uniform() - 0.5);
  const clamp = (value: number, size: number) => Math.min(1 - size, Math.max(0, value));
  return {
    crop: {
      x: clamp(0.5 + shift() - width / 2, width),
      y: clamp(base.centreY + shift() - height / 2, height),
      width,
      height,
    },
    mirrored: false,
    widthPx: base.widthPx,
    heightPx: base.heightPx,
  };
}

function two(n: number): string {
  return String(n).padStart(2, '0');
}

function clockTime(secondsAfterTen: number): { exif: string; subSec: string; iso: string } {
  const hundredths = Math.round(secondsAfterTen * 100);
  const whole = Math.floor(hundredths / 100);
  const hours = 10 + Math.floor(whole / 3600);
  const clock = `${two(hours)}:${two(Math.floor(whole / 60) % 60)}:${two(whole % 60)}`;
  const subSec = two(hundredths % 100);
  return { exif: `2026:05:16 ${clock}`, subSec, iso: `2026-05-16T${clock}.${subSec}+01:00` };
}

function setupOf(planned: PlannedFrame, setups: readonly PlannedSetup[]): PlannedSetup {
  const setup = setups.find((s) => s.id === planned.setup);
  if (setup === undefined) throw new RangeError(`frame is planned for set-up ${planned.setup}, which does not exist`);
  return setup;
}

export interface FramesPlan {
  setups: readonly PlannedSetup[];
  /** In capture order. */
  frames: readonly PlannedFrame[];
  /** Before the four digits of each name; also decides framing shifts, lamp repeatability and noise. */
  namePrefix: string;
  curve: CameraCurveName;
  hall: HallLamps;
  /** Exif Flash (tag 9209) of every frame: 9 fired, forced on; 16 forced off, for continuous light. */
  flashCode: number;
}

/** All frames of a planned shoot in capture order. Throws RangeError for a frame of an unknown set-up. */
export function planShoot(shoot: FramesPlan): ShootFrame[] {
  let clock = 0;
  let previous: PlannedSetup | null = null;
  return shoot.frames.map((planned, index) => {
    const setup = setupOf(planned, shoot.setups);
    const name = `${shoot.namePrefix}${String(index + 1).padStart(4, '0')}.jpg`;
    const random = seededRandom(name);
    const pause = 5 + 9 * random.uniform();
    clock = setup === previous ? clock + (planned.secondsSincePrevious ?? pause) : setup.startsAtMinute * 60 + pause;
    previous = setup;
    return shootFrame({ planned, setup, name, clock, random, shoot });
  });
}

interface OneFrame {
  planned: PlannedFrame;
  setup: PlannedSetup;
  name: string;
  /** Seconds after ten o'clock. */
  clock: number;
  random: Random;
  shoot: FramesPlan;
}

function shootFrame({ planned, setup, name, clock, random, shoot }: OneFrame): ShootFrame {
  const settings = planned.settings ?? setup.metered;
  const repeatability = LAMP_REPEATABILITY_STOPS * (2 * random.uniform() - 1);
  const powerStops =
    planned.powerStops === null ? null : (planned.powerStops ?? 0) + setup.meterErrorStops + repeatability;
  // The hall's lamps follow aperture, shutter and ISO from f/8, 1/125 s, ISO 100.
  const reference = { fNumber: 8, shutterDenominator: 125, iso: 100 };
  const light: LightState = {
    metered: setup.metered,
    powerStops,
    faceMeanStops: -setup.underReadingStops,
    ambientStops: shoot.hall.ambientStops + settingsStops(reference, setup.metered, 1),
  };
  const factors = exposureFactors(settings, light);
  // The baseline is the level that a reading would have given, also where nobody took one.
  const baseline = exposureFactors(setup.metered, { ...light, powerStops: 0 });
  const fromSetup = Math.log2((factors.flash + factors.ambient) / (baseline.flash + baseline.ambient));
  const fromSettings = settingsStops(setup.metered, settings, 0);
  const when = clockTime(clock);
  const spec: FrameSpec = {
    render: `${planned.figure}-${setup.light}`,
    scene: { sameWall: true, lowFillStops: planned.lowFillStops ?? setup.lowFillStops, secondLight: null },
    settings,
    light,
    ambientCastMired: shoot.hall.castMired,
    castShiftMired: planned.castShiftMired ?? 0,
    curve: shoot.curve,
    framing: frame(planned.framing, random),
    storedOrientation: planned.storedOrientation ?? 1,
    jpeg: { quality: 88, chroma: '4:2:0' },
    exif: {
      dateTimeOriginal: when.exif,
      subSecTimeOriginal: when.subSec,
      offsetTimeOriginal: '+01:00',
      focalLengthMm: { full: 50, 'three-quarter': 70, head: 105 }[planned.framing],
      flash: shoot.flashCode,
      serial: 'VH-000417',
    },
    seed: name,
  };
  const wanted = new Set((planned.mustFlag ?? []).flat());
  const never = planned.incident === undefined ? [...NEVER_ON_CLEAN] : neverOn(planned, wanted);
  return {
    name,
    spec,
    truth: (pixels) => ({
      name,
      setup: setup.id,
      figure: planned.figure,
      render: spec.render,
      framing: planned.framing,
      capturedAt: when.iso,
      settings: { fNumber: settings.fNumber, exposureTimeSeconds: 1 / settings.shutterDenominator, iso: settings.iso },
      storedOrientation: spec.storedOrientation,
      lampPowerStops: powerStops === null ? null : round(powerStops),
      trueFromSetupStops: round(fromSetup),
      ofWhichSettingsStops: round(fromSettings),
      ofWhichLightStops: round(fromSetup - fromSettings),
      castShiftMired: spec.castShiftMired,
      face: {
        lightStops: roundOrNull(pixels.faceLightStops),
        levelStops: roundOrNull(pixels.faceLevelStops),
        leftToRightLightStops: roundOrNull(pixels.faceLeftToRightLightStops),
        overSensorShare: roundOrNull(pixels.faceOverSensorShare),
      },
      legs:
        pixels.faceToLegsLightStops === null
          ? null
          : {
              faceToLegsBrightnessStops: roundOrNull(pixels.faceToLegsBrightnessStops),
              faceToLegsLightStops: roundOrNull(pixels.faceToLegsLightStops),
              faceToLowerLegsLightStops: roundOrNull(pixels.faceToLowerLegsLightStops),
            },
      incident: planned.incident ?? null,
      mustFlag: planned.mustFlag ?? [],
      mustNotFlag: never,
      toleranceStops: planned.toleranceStops === undefined ? 0.2 : planned.toleranceStops,
    }),
  };
}

/** Causes that an incident frame must not be given: the codes that would name another cause than the true one. */
function neverOn(planned: PlannedFrame, wanted: ReadonlySet<FlagCode>): FlagCode[] {
  const causes: FlagCode[] = [
    'light-missing',
    'light-short',
    'lower-body-dark',
    'cast-shifted',
    'face-clipped',
    'unreadable',
    'no-exposure-data',
  ];
  if (planned.incident?.kind === 'light-did-not-fire') return ['light-short', 'face-clipped', 'no-exposure-data'];
  return causes.filter((code) => !wanted.has(code) && !(planned.mayFlag ?? []).includes(code));
}

function round(value: number): number {
  return Math.round(value * 1000) / 1000 + 0;
}

function roundOrNull(value: number | null): number | null {
  return value === null ? null : round(value);
}
