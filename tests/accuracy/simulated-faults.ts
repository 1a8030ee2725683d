import { exactExposureTimeSeconds } from '../../src/photometry/nominal-scales.js';
import type { FlagCode } from '../../src/contracts/report.js';
import type { SimulatedFrame } from './shoot-simulator.js';
import type { SeededRandom } from './seeded-random.js';

export const FAULT_KINDS = [
  'iso-knocked',
  'aperture-knocked',
  'light-missing',
  'light-short',
  'light-stepped',
  'cast-knocked',
  'subject-moved',
  'subject-nearer',
  'wall-light-off',
  'legs-dark',
  'face-clipped',
] as const;
/** Those that are put in one by one, those of a whole set-up (simulated-habits.ts), and the shutter's under mixed light. */
export type FaultKind = (typeof FAULT_KINDS)[number] | 'light-drifted' | 'exposure-wandered' | 'shutter-changed';

type Injected = (typeof FAULT_KINDS)[number] | 'shutter-changed' | 'compensated';

/** Kinds whose truth is a level that is off; the others are scored by their own code only. */
export const LEVEL_FAULTS: ReadonlySet<FaultKind> = new Set([
  'iso-knocked',
  'aperture-knocked',
  'light-missing',
  'light-short',
  'light-stepped',
  'subject-moved',
  'subject-nearer',
  'light-drifted',
  'exposure-wandered',
  'shutter-changed',
]);

const ISO_SCALE = [50, 64, 80, 100, 125, 160, 200, 250, 320, 400, 500, 640, 800, 1000, 1250, 1600, 2000, 2500, 3200];
const F_SCALE = [
  1.4, 1.6, 1.8, 2, 2.2, 2.5, 2.8, 3.2, 3.5, 4, 4.5, 5, 5.6, 6.3, 7.1, 8, 9, 10, 11, 13, 14, 16, 18, 20, 22,
];

/** Clean frames that stay between two incidents, so that there is something to compare with. */
const APART = 6;

/**
 * Puts incidents into the frames, and changes that are no fault (settings changed and compensated).
 *
 * @returns indices that begin a new arrangement because the light stepped and stayed
 */
export function injectFaults(
  random: SeededRandom,
  frames: SimulatedFrame[],
  light: 'flash' | 'continuous',
  ambientShare: number,
): number[] {
  const boundaries: number[] = [];
  let i = APART;
  while (i < frames.length - APART) {
    const left = leftInSetup(frames, i);
    const sinceStart = framesSinceStart(frames, i);
    if (random.chance(0.12) && left > APART && sinceStart >= APART && frames[i]?.habit !== 'automation') {
      const kind = kindFor(random, light, frames, i, left, ambientShare);
      if (kind !== null) i += inject(random, frames, i, left, kind, boundaries, ambientShare) + APART;
    }
    i++;
  }
  return boundaries;
}

/** Frames of the set-up that show the same trousers lit as usual, without which dark light is dark cloth. */
const LEAST_LIT_TROUSERS = 2;

/**
 * Takes out of the truth what nothing tells: cloth says nothing of the light on it, so dark legs in trousers are only seen
 * where the set-up holds the same trousers lit as usual.
 *
 * @returns how many frames were taken out
 */
export function leaveOutUnseen(frames: readonly SimulatedFrame[], wearsTrousers: (person: number) => boolean): number {
  let left = 0;
  for (const frame of frames) {
    if (frame.fault !== 'legs-dark' || !wearsTrousers(frame.person)) continue;
    const lit = frames.filter(
      (other) =>
        other.setup === frame.setup && other.person === frame.person && other.crop === 'full' && other.legsStops === 0,
    );
    if (lit.length >= LEAST_LIT_TROUSERS) continue;
    frame.fault = null;
    frame.expected = [];
    frame.undecided = true;
    left++;
  }
  return left;
}

function leftInSetup(frames: readonly SimulatedFrame[], i: number): number {
  let end = i;
  while (end < frames.length && frames[end]?.setup === frames[i]?.setup) end++;
  return end - i;
}

function framesSinceStart(frames: readonly SimulatedFrame[], i: number): number {
  let start = i;
  while (start > 0 && frames[start - 1]?.setup === frames[i]?.setup) start--;
  return i - start;
}

function kindFor(
  random: SeededRandom,
  light: string,
  frames: readonly SimulatedFrame[],
  i: number,
  left: number,
  ambientShare: number,
): Injected | null {
  if (ambientShare > 0 && random.chance(0.5)) return 'shutter-changed';
  const kind = random.pick([...FAULT_KINDS, 'compensated' as const]);
  if ((kind === 'light-missing' || kind === 'light-short') && light !== 'flash') return null;
  if (kind === 'light-stepped' && (left < 8 || left > 24 || frames[i]?.habit === 'drift')) return null;
  // Nothing tells a moved sitter from another skin, or a wall in shadow from less light on everything, unless the
  // same sitter is seen right before and right after.
  if ((kind === 'subject-moved' || kind === 'subject-nearer' || kind === 'wall-light-off') && !sitterStays(frames, i))
    return null;
  return kind;
}

/** The same sitter in the three frames before and in the four from here on. */
function sitterStays(frames: readonly SimulatedFrame[], i: number): boolean {
  const { setup, person } = frames[i] as SimulatedFrame;
  return frames.slice(i - 3, i + 5).every((frame) => frame.setup === setup && frame.person === person);
}

function inject(
  random: SeededRandom,
  frames: SimulatedFrame[],
  start: number,
  left: number,
  kind: Injected,
  boundaries: number[],
  ambientShare: number,
): number {
  const sign = random.chance(0.5) ? 1 : -1;
  const each = (
    count: number,
    fault: FaultKind | null,
    expected: FlagCode[],
    change: (frame: SimulatedFrame) => boolean,
  ): number => {
    const until = Math.min(start + count, start + left - 1);
    for (const frame of frames.slice(start, until)) {
      if (!change(frame) || (fault === null && frame.fault !== null)) continue;
      frame.fault = fault;
      frame.expected = expected;
    }
    return until - start;
  };
  const step = (scale: readonly number[], value: number, by: number): number | undefined =>
    scale[scale.indexOf(value) + by];
  switch (kind) {
    case 'iso-knocked': {
      const by = sign * random.whole(1, 6);
      return each(random.whole(1, 3), kind, ['settings-changed'], (frame) => {
        const iso = step(ISO_SCALE, frame.iso, by);
        if (iso === undefined) return false;
        frame.iso = iso;
        return true;
      });
    }
    case 'aperture-knocked': {
      const by = sign * random.whole(1, 6);
      return each(random.whole(1, 3), kind, ['settings-changed'], (frame) => {
        const fNumber = step(F_SCALE, frame.fNumber, by);
        if (fNumber === undefined) return false;
        frame.fNumber = fNumber;
        return true;
      });
    }
    case 'compensated': {
      const by = sign * 3;
      return each(random.whole(2, 6), null, [], (frame) => {
        const fNumber = step(F_SCALE, frame.fNumber, by);
        const iso = step(ISO_SCALE, frame.iso, by);
        if (fNumber === undefined) return false;
        frame.fNumber = fNumber;
        if (iso !== undefined && random.chance(0.5)) frame.iso = iso;
        else frame.lightStops += by / 3;
        return true;
      });
    }
    case 'light-missing': {
      const fall = random.between(2, 5);
      return each(1, kind, ['light-missing'], (frame) => {
        frame.lightStops -= fall;
        frame.wallStops += random.normal(0.4);
        frame.mired += random.between(0, 90);
        frame.sideToSideStops += random.normal(0.4);
        return true;
      });
    }
    case 'light-short':
      return each(1, kind, ['light-short'], (frame) => {
        frame.lightStops -= random.between(0.4, 1.1);
        frame.secondsSincePrevious = random.between(0.6, 2.5);
        return true;
      });
    case 'light-stepped': {
      const by = sign * random.between(0.4, 1.5);
      const moved = random.chance(0.5) ? random.normal(0.8) : 0;
      boundaries.push(start);
      for (const frame of frames.slice(start, start + left)) {
        frame.lightStops += by;
        frame.sideToSideStops += moved;
        frame.fault = kind;
        frame.expected = ['light-changed'];
      }
      return left;
    }
    case 'cast-knocked': {
      const by = sign * random.between(35, 90);
      return each(random.whole(1, 3), kind, ['cast-shifted'], (frame) => ((frame.mired += by), true));
    }
    case 'subject-moved': {
      const by = sign * random.between(0.5, 1.2);
      const { person } = frames[start] as SimulatedFrame;
      return each(random.whole(1, 2), kind, [by < 0 ? 'face-dark' : 'face-bright'], (frame) => {
        if (frame.person !== person) return false;
        frame.faceOnlyStops += by;
        return true;
      });
    }
    case 'subject-nearer': {
      const by = sign * random.between(0.5, 1.2);
      const { person, crop } = frames[start] as SimulatedFrame;
      // One framing all round: the head's size is the evidence.
      for (const frame of frames.slice(start - 3, start + 5)) frame.crop = crop;
      return each(random.whole(1, 2), kind, [by < 0 ? 'face-dark' : 'face-bright'], (frame) => {
        if (frame.person !== person) return false;
        frame.faceOnlyStops += by;
        // The light stands by the camera: twice as near is twice as large and two stops more.
        frame.headScale = 2 ** (by / 2);
        return true;
      });
    }
    case 'shutter-changed': {
      const thirds = sign * random.whole(3, 6);
      const stops = Math.log2(1 - ambientShare + ambientShare * 2 ** (thirds / 3));
      return each(random.whole(1, 3), kind, ['settings-changed'], (frame) => {
        frame.exposureTimeSeconds = exactExposureTimeSeconds(frame.exposureTimeSeconds).exact * 2 ** (thirds / 3);
        if (Math.abs(stops) > 0.25 && Math.abs(stops) < 0.42) frame.undecided = true;
        return Math.abs(stops) >= 0.42;
      });
    }
    case 'wall-light-off': {
      const by = -random.between(0.9, 2.5);
      return each(random.whole(1, 3), kind, ['background-shifted'], (frame) => ((frame.wallStops += by), true));
    }
    case 'legs-dark': {
      const by = -random.between(1.2, 2.5);
      return each(random.whole(1, 3), kind, ['lower-body-dark'], (frame) => {
        if (frame.crop !== 'full') return false;
        frame.legsStops += by;
        return true;
      });
    }
    case 'face-clipped':
      return each(1, kind, ['face-clipped'], (frame) => ((frame.faceClippedShare = random.between(0.03, 0.3)), true));
  }
}
