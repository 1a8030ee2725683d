/**
 * Simulates whole shoots at the level of measurements, with known truth: set-ups, people, crops, noise of
 * realistic size, a tone response that is off, and injected faults. No pixels; see samples/ for those.
 *
 * What it assumes. One to five set-ups of 10 to 45 frames, 70 % of them after a pause of two minutes and more; 2 to 14
 * sitters who come back at random, 3 to 14 frames in a go, in a quarter of the shoots 1 to 3. Scatter of the face 0.05 to
 * 0.08 stop, of the wall 0.03 to 0.1, of the wall's colour 2 to 5 mired, of a chest against its face 0.08 and more with the
 * crop; stops read wrong by a slope of 6 % (one sigma). Each set-up is metered to 0.15 stop (one sigma). No plan. 15 % of set-ups
 * drift by half a stop and more, 15 % under lamps are exposed by the camera, 15 % of flash shoots have ambient beside the flash.
 * An incident leaves six clean frames before the next; a sitter who moves, or a wall that goes dark alone, has the same
 * sitter right before and after, since else nothing could tell it from other skin. Dark legs in trousers count where the
 * set-up shows the same trousers lit in two frames, since cloth says nothing of the light. What it leaves out: faces that are not
 * found or wrongly found, several people in a frame, walls that change from place to place, clothes that change.
 */
import type { FlagCode } from '../../src/contracts/report.js';
import type { JudgedFrameInput } from '../../src/shoot/input.js';
import { fakeMeasurement, type FakeFrame } from '../support/measurement.js';
import { injectFaults, leaveOutUnseen, type FaultKind } from './simulated-faults.js';
import { simulatePerson, withOtherSkin, type SimulatedPerson } from './simulated-people.js';
import { giveHabits, type SimulatedHabit } from './simulated-habits.js';
import {
  settingsStopsOf,
  shutterStops,
  simulateSetups,
  type SimulatedLight,
  type SimulatedSetup,
} from './simulated-setups.js';
import { SeededRandom } from './seeded-random.js';

export interface SimulatedFrame {
  setup: number;
  person: number;
  crop: 'full' | 'three-quarter' | 'head';
  secondsSincePrevious: number;
  fNumber: number;
  exposureTimeSeconds: number;
  iso: number;
  /** Changes against the set-up, injected. */
  lightStops: number;
  wallStops: number;
  faceOnlyStops: number;
  sideToSideStops: number;
  mired: number;
  legsStops: number;
  faceClippedShare: number;
  /** Head in the picture against the usual size of that crop; a sitter who steps nearer is larger. */
  headScale: number;
  exposureProgram: string;
  /** How far the light had drifted, part of lightStops. */
  driftStops: number;
  habit: SimulatedHabit['kind'] | null;
  /** Neither right nor wrong to flag: on a ramp's way through the tolerance, or nothing could tell it. */
  undecided: boolean;
  /** Truth: what is wrong; null for nothing. */
  fault: FaultKind | null;
  expected: readonly FlagCode[];
}

export interface SimulatedShoot {
  frames: JudgedFrameInput[];
  truth: SimulatedFrame[];
  /** Indices of the frames that begin a new arrangement, without the first. */
  boundaries: number[];
  habits: SimulatedHabit[];
  /** Frames with dark legs in trousers that are seen lit in fewer than two frames; they count neither way. */
  unseenLegs: number;
  light: 'flash' | 'continuous';
  /** Share of the light that the shutter counts for, at the set-ups' own shutter; 0 but for mixed light. */
  ambientShare: number;
}

export interface SimulatorOptions {
  seed: number;
  faults: boolean;
  /** Gives every person another skin, all else the same. */
  otherSkin?: boolean;
}

interface ShootNoise {
  faceStops: number;
  wallStops: number;
  sideToSideStops: number;
  mired: number;
  /** Slope error of the tone response: measured = true x (1 + this). */
  slopeError: number;
}

const START_MS = Date.UTC(2026, 4, 16, 9);

export function simulateShoot({ seed, faults, otherSkin = false }: SimulatorOptions): SimulatedShoot {
  const random = new SeededRandom(seed);
  const light = random.chance(0.7) ? 'flash' : 'continuous';
  const setups = simulateSetups(random, light);
  const people = Array.from({ length: random.whole(2, 14) }, () => simulatePerson(random));
  const truth = planFrames(random, setups, people.length);
  const boundaries = truth.flatMap((frame, i) => (i > 0 && frame.setup !== truth[i - 1]?.setup ? [i] : []));
  const ambientShare = light === 'flash' && random.chance(0.15) ? random.between(0.25, 0.6) : 0;
  const habits = faults ? giveHabits(random, truth, light) : [];
  if (faults) boundaries.push(...injectFaults(random, truth, light, ambientShare));
  const unseenLegs = leaveOutUnseen(truth, (person) => people[person]?.legs === 'clothing');
  boundaries.sort((a, b) => a - b);
  const noise: ShootNoise = {
    faceStops: random.between(0.05, 0.08),
    wallStops: random.between(0.03, 0.1),
    sideToSideStops: random.between(0.08, 0.2),
    mired: random.between(2, 5),
    slopeError: random.normal(0.06),
  };
  const skinRandom = new SeededRandom(seed + 77_777);
  const seen = otherSkin ? people.map((person) => withOtherSkin(person, skinRandom)) : people;
  const measureRandom = new SeededRandom(seed + 1_000_003);
  const lit: SimulatedLight = { light, ambientShare };
  const frames = measureAll(measureRandom, truth, setups, seen, noise, lit);
  return { frames, truth, boundaries, habits, unseenLegs, light, ambientShare };
}

function planFrames(random: SeededRandom, setups: readonly SimulatedSetup[], people: number): SimulatedFrame[] {
  const frames: SimulatedFrame[] = [];
  const volume = random.chance(0.25);
  setups.forEach((setup, s) => {
    const count = random.whole(10, 45);
    let person = random.whole(0, people - 1);
    let left = 0;
    for (let i = 0; i < count; i++) {
      if (left === 0) {
        if (i > 0) person = (person + random.whole(1, Math.max(1, people - 1))) % people;
        left = volume ? random.whole(1, 3) : random.whole(3, 14);
      }
      left--;
      const pause = i > 0 ? null : random.chance(0.7) ? random.between(120, 1200) : random.between(15, 60);
      frames.push({
        setup: s,
        person,
        crop: random.pick(['full', 'three-quarter', 'head', 'three-quarter'] as const),
        secondsSincePrevious: pause ?? 8 * Math.exp(random.normal(0.35)),
        ...setup.settings,
        lightStops: 0,
        wallStops: 0,
        faceOnlyStops: 0,
        sideToSideStops: 0,
        mired: 0,
        legsStops: 0,
        faceClippedShare: 0,
        headScale: 1,
        exposureProgram: 'manual',
        driftStops: 0,
        habit: null,
        undecided: false,
        fault: null,
        expected: [],
      });
    }
  });
  return frames;
}

function measureAll(
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
