import { ShootPlan } from '../../src/contracts/plan.js';
import { judgeShoot } from '../../src/shoot/judge.js';
import { medianOf } from '../accuracy/row.js';
import { manyFrames } from './many-frames.js';

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
