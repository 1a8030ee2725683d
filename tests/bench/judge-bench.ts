import { ShootPlan } from '../../src/contracts/plan.js';
import type { JudgedFrameInput } from '../../src/shoot/input.js';
import { judgeShoot } from '../../src/shoot/judge.js';
import { simulateShoot } from '../accuracy/shoot-simulator.js';
import { medianOf } from '../accuracy/row.js';

const HOUR_MS = 3_600_000;

/** `count` simulated frames: shoots of the simulator one after the other, an hour apart. */
function manyFrames(count: number): JudgedFrameInput[] {
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

/** Judging, by number of frames. */
export function judgeBench(): void {
  const plan = ShootPlan.parse({});
  const shoot = { id: 'bench', name: 'bench' };
  const all = manyFrames(50_000);
  console.log('\nJudging (measurements already there), median of 3');
  let perFrame: number | null = null;
  for (const count of [500, 5_000, 50_000]) {
    const frames = all.slice(0, count);
    const times: number[] = [];
    for (let run = 0; run < 3; run++) {
      const start = performance.now();
      const report = judgeShoot({ shoot, plan, frames });
      times.push(performance.now() - start);
      if (report.frames.length !== count) throw new Error('frames went missing');
    }
    const ms = medianOf(times);
    perFrame ??= ms / count;
    console.log(
      `  ${String(count).padStart(6)} frames                     ${(ms / count / perFrame).toFixed(2)} a frame   (${ms.toFixed(0)} ms)`,
    );
  }
}
