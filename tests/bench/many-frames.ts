import type { JudgedFrameInput } from '../../src/shoot/input.js';
import { simulateShoot } from '../accuracy/shoot-simulator.js';

const HOUR_MS = 3_600_000;

/** `count` simulated frames: shoots of the simulator one after the other, an hour apart. */
export function manyFrames(count: number): JudgedFrameInput[] {
  const frames: JudgedFrameInput[] = [];
  for (let seed = 1; frames.length < count; seed++) {
    for (const f of simulateShoot({ seed, faults: true }).frames) {
      const { measurement } = f;
      const at = measurement?.exposure.capturedAt;
      const moved = at && { ...at, epochMs: at.epochMs + seed * HOUR_MS };
      frames.push({
        ...f,
        name: `${seed}-${f.name}`,
        measurement: measurement && {
          ...measurement,
          exposure: { ...measurement.exposure, capturedAt: moved ?? null },
        },
      });
    }
  }
  return frames.slice(0, count);
}
