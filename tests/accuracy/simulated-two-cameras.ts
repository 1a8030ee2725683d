/**
 * One shoot taken by two cameras whose clocks may disagree, at the level of measurements. Both see the same lights: they
 * change at the same moments for both, both pause then, and each has its own settings, place, tone curve and white balance.
 */
import type { JudgedFrameInput } from '../../src/shoot/input.js';
import { fakeMeasurement } from '../support/measurement.js';
import { SeededRandom } from './seeded-random.js';
import { simulatePerson } from './simulated-people.js';

export interface TwoCameras {
  seed: number;
  /** How far the second camera's clock is ahead. */
  aheadSeconds: number;
  setups: number;
  /** Nothing changes from set-up to set-up but who sits there, and nobody pauses. */
  sameLight?: boolean;
}

const START_MS = Date.UTC(2026, 4, 16, 9);

export function simulateTwoCameras({ seed, aheadSeconds, setups, sameLight = false }: TwoCameras): {
  frames: JudgedFrameInput[];
  /** Names in the order in which the frames were really made. */
  trueOrder: string[];
} {
  const random = new SeededRandom(seed);
  const people = Array.from({ length: 5 }, () => simulatePerson(random));
  const cameras = ['One', 'Two'].map((name, i) => ({
    name,
    aheadMs: i === 0 ? 0 : 1000 * aheadSeconds,
    slope: 1 + random.normal(0.05),
    mired: random.normal(6),
    wallStops: random.between(-1.2, -0.4),
  }));
  const made: { trueMs: number; frame: JudgedFrameInput }[] = [];
  let now = START_MS;
  let light = { stops: 0, mired: 180, sideStops: 1 };
  for (let setup = 0; setup < setups; setup++) {
    if (setup > 0 && !sameLight) {
      now += 1000 * random.between(60, 500);
      light = anotherLight(random, light);
    }
    const lasts = 1000 * random.between(150, 420);
    const begins = now;
    for (const [i, camera] of cameras.entries()) {
      // Each photographer begins, and stops, within half a minute of the other.
      let at = begins + 1000 * random.between(0, 30);
      const until = begins + lasts - 1000 * random.between(0, 30);
      let count = 0;
      while (at < until) {
        const person = people[Math.floor((at - begins) / 60_000) % people.length]!;
        const level = light.stops + random.normal(0.05);
        const face = camera.slope * (level + person.faceStops);
        const torso = camera.slope * (level + person.torsoStops + random.normal(0.06));
        const name = `${i === 0 ? 'ONE' : 'TWO'}_${String(setup * 200 + ++count).padStart(5, '0')}.jpg`;
        const measurement = fakeMeasurement({
          camera: camera.name,
          capturedAtMs: Math.round(at + camera.aheadMs),
          faceLevelStops: face,
          torsoLevelStops: torso,
          backgroundLevelStops: camera.slope * (light.stops + camera.wallStops + random.normal(0.05)),
          sideToSideStops: Math.max(0, light.sideStops + random.normal(0.12)),
          wallMired: light.mired + camera.mired + random.normal(3),
          appearance: {
            torsoLogRg: person.torsoLogRg,
            torsoLogBg: person.torsoLogBg,
            torsoMinusFaceStops: torso - face,
          },
        });
        made.push({ trueMs: at, frame: { name, measurement, failure: null, measurementHref: null } });
        at += 1000 * 9 * Math.exp(random.normal(0.35));
      }
    }
    now += lasts;
  }
  made.sort((a, b) => a.trueMs - b.trueMs);
  return { frames: made.map(({ frame }) => frame), trueOrder: made.map(({ frame }) => frame.name) };
}

/** A light that anybody would call another: by half a stop and more, or by 35 mired and more. */
function anotherLight(
  random: SeededRandom,
  before: { stops: number; mired: number; sideStops: number },
): typeof before {
  for (;;) {
    const light = {
      stops: random.between(-1.5, 1.5),
      mired: random.between(150, 230),
      sideStops: random.between(0.2, 2.5),
    };
    if (Math.abs(light.stops - before.stops) >= 0.5 || Math.abs(light.mired - before.mired) >= 35) return light;
  }
}
