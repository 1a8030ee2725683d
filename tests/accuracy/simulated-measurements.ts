import type { JudgedFrameInput } from '../../src/shoot/input.js';
import { fakeMeasurement, type FakeFrame } from '../support/measurement.js';
import type { SeededRandom } from './seeded-random.js';
import type { SimulatedFrame } from './simulated-frames.js';
import type { SimulatedPerson } from './simulated-people.js';
import { settingsStopsOf, shutterStops, type SimulatedLight, type SimulatedSetup } from './simulated-setups.js';

/** Standard deviations of what scatters from frame to frame, the same for a whole shoot. */
export interface ShootNoise {
  faceStops: number;
  wallStops: number;
  sideToSideStops: number;
  mired: number;
  /** Slope error of the tone response: measured = true x (1 + this). */
  slopeError: number;
}

const START_MS = Date.UTC(2026, 4, 16, 9);

/** What would be measured of each frame: its truth, with noise, through a tone response that is off. */
export function measureAll(
  random: SeededRandom,
  truth: readonly SimulatedFrame[],
  setups: readonly SimulatedSetup[],
  people: readonly SimulatedPerson[],
  noise: ShootNoise,
  light: SimulatedLight,
): JudgedFrameInput[] {
  let ms = START_MS;
  return truth.map((frame, i) => {
    ms += Math.round(frame.secondsSincePrevious * 1000);
    const setup = setups[frame.setup] as SimulatedSetup;
    const person = people[frame.person] as SimulatedPerson;
    const fake = measure(random, frame, setup, person, noise, light);
    return {
      name: `VHM_${String(i + 1).padStart(5, '0')}.jpg`,
      measurement: fakeMeasurement({ ...fake, capturedAtMs: ms }),
      failure: null,
      measurementHref: null,
    };
  });
}

/** Height of a face as a share of the frame, by crop. */
const FACE_HEIGHT = { full: 0.075, 'three-quarter': 0.12, head: 0.28 } as const;
const CROP_WALL_STOPS = { full: -0.04, 'three-quarter': 0, head: 0.05 } as const;

function measure(
  random: SeededRandom,
  frame: SimulatedFrame,
  setup: SimulatedSetup,
  person: SimulatedPerson,
  noise: ShootNoise,
  light: SimulatedLight,
): FakeFrame {
  const read = (trueStops: number): number => trueStops * (1 + noise.slopeError);
  const camera = settingsStopsOf(frame, light.light) + shutterStops(frame, setup, light);
  const pose = random.normal(noise.faceStops);
  const onSubject = setup.lightStops + camera + frame.lightStops + frame.faceOnlyStops + pose;
  const face = read(onSubject + person.faceStops);
  const wall = setup.wallLightStops + camera + frame.lightStops + frame.wallStops + CROP_WALL_STOPS[frame.crop];
  const torso = read(onSubject + person.torsoStops + person.torsoCropStops[frame.crop] + random.normal(0.08));
  const mired = setup.mired + frame.mired;
  const legs = legsOf(random, frame, setup, person, onSubject, read);
  return {
    faceLevelStops: face,
    bodyLevelStops: read(onSubject + 0.5 * person.faceStops + 0.5 * person.torsoStops + random.normal(0.15)),
    torsoLevelStops: torso,
    backgroundLevelStops: read(wall + random.normal(noise.wallStops)),
    frameLevelStops: read(wall) - 0.2 + random.normal(0.2),
    sideToSideStops: Math.max(
      0,
      setup.sideToSideStops + frame.sideToSideStops + person.sideToSideStops + random.normal(noise.sideToSideStops),
    ),
    fNumber: frame.fNumber,
    exposureTimeSeconds: frame.exposureTimeSeconds,
    iso: frame.iso,
    exposureProgram: frame.exposureProgram,
    faceHeightShare: FACE_HEIGHT[frame.crop] * frame.headScale * Math.exp(random.normal(0.04)),
    flashFired: setup.tellsFlash ? light.light === 'flash' : false,
    focalLengthMm: frame.crop === 'head' ? setup.focalMm * 1.2 : setup.focalMm,
    wallMired: mired + random.normal(noise.mired),
    wallDuv: random.normal(0.0008),
    skinMired: mired + person.skinMiredOffset + random.normal(1.5 * noise.mired),
    skinDuv: random.normal(0.0012),
    appearance: {
      torsoLogRg: person.torsoLogRg + 0.003 * (mired - 180) + random.normal(0.03),
      torsoLogBg: person.torsoLogBg - 0.005 * (mired - 180) + random.normal(0.04),
      torsoMinusFaceStops: torso - face,
      skinLogRg: person.skinLogRg + 0.003 * (mired - 180) + random.normal(0.02),
      skinLogBg: person.skinLogBg - 0.005 * (mired - 180) + random.normal(0.03),
    },
    lowerBody: legs,
    facesClippedShare: frame.faceClippedShare,
    toneResponse: { uncertaintyStops: 0.1 },
  };
}

function legsOf(
  random: SeededRandom,
  frame: SimulatedFrame,
  setup: SimulatedSetup,
  person: SimulatedPerson,
  onSubject: number,
  read: (stops: number) => number,
): NonNullable<FakeFrame['lowerBody']> | null {
  const wobble = random.normal(0.06);
  if (frame.crop !== 'full') return null;
  const light = onSubject - setup.fallOffStops + frame.legsStops + wobble;
  const skin = read(light + person.faceStops + person.legMinusFaceStops);
  const cloth = read(light + person.trouserStops);
  const level = person.legs === 'skin' ? skin : person.legs === 'clothing' ? cloth : (skin + cloth) / 2;
  const fall = person.legs === 'clothing' ? null : read(onSubject + person.faceStops) - skin;
  return { levelStops: level, basis: person.legs, faceToLowerBodyLightStops: fall, uncertaintyStops: 0.35 };
}
