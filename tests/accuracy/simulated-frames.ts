import type { FlagCode } from '../../src/contracts/report.js';
import type { FaultKind } from './fault-kinds.js';
import type { SeededRandom } from './seeded-random.js';
import type { SimulatedHabit } from './simulated-habits.js';
import type { SimulatedSetup } from './simulated-setups.js';

/** One frame's truth: who stands in which set-up, how it is cropped and exposed, and what is wrong with it. */
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

/** All frames of a shoot in time, with nothing wrong yet: people come back at random and stay for some frames in a go. */
export function planFrames(random: SeededRandom, setups: readonly SimulatedSetup[], people: number): SimulatedFrame[] {
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
