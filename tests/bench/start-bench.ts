import { spawnSync } from 'node:child_process';
import { existsSync } from 'node:fs';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { createMeasuringPool } from '../../src/queue/measuring-pool.js';
import { MeasuringOptions } from '../../src/contracts/options.js';
import { medianOf } from '../accuracy/row.js';
import { row } from './cpu.js';

const RUNS = 5;
const built = new URL('../../dist/worker/pool-process.js', import.meta.url);
const builtFinder = new URL('../../dist/worker/people/finder.js', import.meta.url);

/** From the start of a measuring process to its first measured frame, against loading the models alone. By the clock. */
export async function startBench(): Promise<void> {
  const isBuilt = existsSync(built) && existsSync(builtFinder);
  if (!isBuilt) {
    console.log('\nStart of a measuring process: left out (npm run build first)');
    return;
  }
  const script = `const { createPeopleFinder } = await import(${JSON.stringify(builtFinder.href)});
    const start = performance.now(); await createPeopleFinder(); console.log(performance.now() - start); process.exit(0);`;
  const path = fileURLToPath(new URL('../../samples/shoot/MKR_0001.jpg', import.meta.url));
  const [models, first, second]: [number[], number[], number[]] = [[], [], []];
  for (let run = 0; run < RUNS; run++) {
    const { stdout, stderr } = spawnSync(process.execPath, ['--input-type=module', '-e', script], { encoding: 'utf8' });
    const ms = Number(stdout.trim().split('\n').at(-1));
    if (!Number.isFinite(ms)) throw new Error(`models were not loaded: ${stderr}`);
    models.push(ms);
    const pool = createMeasuringPool({ workers: 1, timeLimitSeconds: 120, maxAttempts: 1, entry: pathToFileURL(fileURLToPath(built)) }); // prettier-ignore
    try {
      for (const times of [first, second]) {
        const start = performance.now();
        await pool.measure({ path, options: MeasuringOptions.parse({}) });
        times.push(performance.now() - start);
      }
    } finally {
      await pool.close();
    }
  }
  const base = medianOf(models);
  console.log(`\nStart of a measuring process (built), median of ${RUNS}, by the clock`);
  row('loading the models', 1, `(${base.toFixed(0)} ms)`);
  row('start to the first measured frame', medianOf(first) / base, `(${medianOf(first).toFixed(0)} ms); goal 3.00`);
  row('the second frame', medianOf(second) / base, `(${medianOf(second).toFixed(0)} ms)`);
}
