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
import type { JudgedFrameInput } from '../../src/shoot/input.js';
import { SeededRandom } from './seeded-random.js';
import { injectFaults, leaveOutUnseen } from './simulated-faults.js';
import { planFrames, type SimulatedFrame } from './simulated-frames.js';
import { giveHabits, type SimulatedHabit } from './simulated-habits.js';
import { measureAll, type ShootNoise } from './simulated-measurements.js';
import { simulatePerson, withOtherSkin } from './simulated-people.js';
import { simulateSetups, type SimulatedLight } from './simulated-setups.js';

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
