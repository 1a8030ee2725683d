import { readdirSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { join } from 'node:path';
import { MeasuringOptions } from '../../src/contracts/options.js';
import { createMeasuringPool } from '../../src/queue/measuring-pool.js';

/** Frames a second over the sample shoot with one and with two measuring processes, warm. */
export async function poolBench(): Promise<void> {
  const folder = fileURLToPath(new URL('../../samples/shoot/', import.meta.url));
  const paths = readdirSync(folder).map((name) => join(folder, name));
  const options = MeasuringOptions.parse({});
  const rates: number[] = [];
  for (const workers of [1, 2]) {
    const pool = createMeasuringPool({ workers, timeLimitSeconds: 120, maxAttempts: 1 });
    try {
      const measureAll = (all: readonly string[]) => Promise.all(all.map((path) => pool.measure({ path, options })));
      // Until then much of the code is still being compiled.
      await measureAll(paths);
      const start = performance.now();
      const measured = await measureAll([...paths, ...paths, ...paths]);
      if (measured.some((m) => m.measurement.people.length === 0)) throw new Error('a frame lost its person');
      rates.push((1000 * measured.length) / (performance.now() - start));
    } finally {
      await pool.close();
    }
  }
  const [one, two] = rates as [number, number];
  console.log(`\nThe sample shoot (${paths.length} frames of 0.5 to 0.6 megapixels), three times after once`);
  console.log(`  1 measuring process               1.00   (${one.toFixed(2)} frames/s)`);
  console.log(`  2 measuring processes             ${(two / one).toFixed(2)}   (${two.toFixed(2)} frames/s)`);
}
