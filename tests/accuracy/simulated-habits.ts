import { exactExposureTimeSeconds } from '../../src/photometry/nominal-scales.js';
import type { SeededRandom } from './seeded-random.js';
import type { SimulatedFrame } from './simulated-frames.js';

/** What a whole set-up of a shoot has: light that drifts, or a camera that exposes by itself. */
export interface SimulatedHabit {
  kind: 'drift' | 'automation';
  setup: number;
  /** Indices of its first frame and of its last. */
  first: number;
  last: number;
  /** Drift: true stops in 100 frames. Automation: null. */
  stopsPer100Frames: number | null;
}

/** Frames between these are neither right nor wrong: a ramp has to pass the tolerance somewhere. */
const UNDECIDED_STOPS = { from: 0.2, to: 0.46 } as const;
/** Shortest run that anybody could call a drift. */
const LEAST_DRIFT_FRAMES = 18;

/**
 * Gives some set-ups a habit. Drifts are of the light on everything, from the set-up's first frame or from later on;
 * automation moves the shutter by thirds from frame to frame under steady continuous light.
 */
export function giveHabits(
  random: SeededRandom,
  frames: SimulatedFrame[],
  light: 'flash' | 'continuous',
): SimulatedHabit[] {
  const habits: SimulatedHabit[] = [];
  let start = 0;
  while (start < frames.length) {
    const setup = (frames[start] as SimulatedFrame).setup;
    let end = start;
    while (end < frames.length && frames[end]?.setup === setup) end++;
    const drifts = random.chance(0.15);
    const wanders = random.chance(0.15);
    if (drifts && end - start >= LEAST_DRIFT_FRAMES) habits.push(drift(random, frames, start, end));
    else if (wanders && light === 'continuous' && end - start >= 12) habits.push(wander(random, frames, start, end));
    start = end;
  }
  return habits;
}

function drift(random: SeededRandom, frames: SimulatedFrame[], start: number, end: number): SimulatedHabit {
  const late = end - start >= 2 * LEAST_DRIFT_FRAMES && random.chance(0.3);
  const first = late ? start + random.whole(8, end - start - LEAST_DRIFT_FRAMES) : start;
  const total = random.between(0.5, 1.3) * (random.chance(0.7) ? -1 : 1);
  const each = total / (end - 1 - first);
  for (let i = first; i < end; i++) {
    const frame = frames[i] as SimulatedFrame;
    const stops = each * (i - first);
    frame.lightStops += stops;
    frame.driftStops = stops;
    frame.habit = 'drift';
    const size = Math.abs(stops);
    if (size >= UNDECIDED_STOPS.to) {
      frame.fault = 'light-drifted';
      frame.expected = ['light-changed'];
    } else if (size > UNDECIDED_STOPS.from) frame.undecided = true;
  }
  for (let i = start; i < first; i++) (frames[i] as SimulatedFrame).habit = 'drift';
  return { kind: 'drift', setup: frames[start]?.setup ?? 0, first, last: end - 1, stopsPer100Frames: 100 * each };
}

function wander(random: SeededRandom, frames: SimulatedFrame[], start: number, end: number): SimulatedHabit {
  const thirds: number[] = [];
  for (let i = start; i < end; i++) thirds.push(Math.round(3 * random.normal(0.4)));
  const middle = [...thirds].sort((a, b) => a - b)[(thirds.length - 1) >> 1] ?? 0;
  thirds.forEach((by, k) => {
    const frame = frames[start + k] as SimulatedFrame;
    frame.habit = 'automation';
    frame.exposureProgram = 'aperture priority';
    frame.exposureTimeSeconds = exactExposureTimeSeconds(frame.exposureTimeSeconds).exact * 2 ** (by / 3);
    if (by === middle) return;
    frame.fault = 'exposure-wandered';
    frame.expected = ['settings-changed'];
  });
  return { kind: 'automation', setup: frames[start]?.setup ?? 0, first: start, last: end - 1, stopsPer100Frames: null };
}
