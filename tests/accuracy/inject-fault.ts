import { exactExposureTimeSeconds } from '../../src/photometry/nominal-scales.js';
import type { FlagCode } from '../../src/contracts/report.js';
import type { FaultKind, Injected } from './fault-kinds.js';
import type { SeededRandom } from './seeded-random.js';
import type { SimulatedFrame } from './simulated-frames.js';

const ISO_SCALE = [50, 64, 80, 100, 125, 160, 200, 250, 320, 400, 500, 640, 800, 1000, 1250, 1600, 2000, 2500, 3200];
const F_SCALE = [
  1.4, 1.6, 1.8, 2, 2.2, 2.5, 2.8, 3.2, 3.5, 4, 4.5, 5, 5.6, 6.3, 7.1, 8, 9, 10, 11, 13, 14, 16, 18, 20, 22,
];

/**
 * Changes the frames from `start` on as one incident does, and tells their truth.
 *
 * @param left frames from `start` to the end of the set-up
 * @param boundaries gets `start` where a new arrangement begins there
 * @returns how many frames the incident takes
 */
export function inject(
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
