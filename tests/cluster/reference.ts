import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { availableParallelism, tmpdir } from 'node:os';
import { join } from 'node:path';
import type { MeasuredFrame } from '../../src/contracts/jobs.js';
import { MeasuringOptions } from '../../src/contracts/options.js';
import { createMeasuringPool } from '../../src/queue/measuring-pool.js';
import type { SimulatedFrame } from './simulated-frames.js';

/** What each frame measures (with another module than the real one, where it is given), without queue, store or service: the truth that every run is held against. */
export async function referenceOf(
  frames: readonly SimulatedFrame[],
  entry?: URL,
): Promise<ReadonlyMap<string, MeasuredFrame>> {
  const folder = await mkdtemp(join(tmpdir(), 'stopledger-reference-'));
  const pool = createMeasuringPool({ workers: availableParallelism(), timeLimitSeconds: 120, maxAttempts: 1, ...(entry === undefined ? {} : { entry }) }); // prettier-ignore
  const options = MeasuringOptions.parse({});
  try {
    const measured = await Promise.all(
      frames.map(async ({ name, bytes, sha256 }) => {
        const path = join(folder, sha256);
        await writeFile(path, bytes);
        return [name, await pool.measure({ path, sha256, options })] as const;
      }),
    );
    return new Map(measured);
  } finally {
    await pool.close();
    await rm(folder, { recursive: true, force: true });
  }
}
