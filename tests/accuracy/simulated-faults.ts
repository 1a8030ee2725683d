import { FAULT_KINDS, type Injected } from './fault-kinds.js';
import { inject } from './inject-fault.js';
import type { SeededRandom } from './seeded-random.js';
import type { SimulatedFrame } from './simulated-frames.js';

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
