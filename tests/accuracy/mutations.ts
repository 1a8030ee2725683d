import { readFileSync, readdirSync, existsSync } from 'node:fs';
import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { extname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { FrameMeasurement } from '../../src/contracts/measurement.js';
import { MeasuringOptions } from '../../src/contracts/options.js';
import { asStopledgerError } from '../../src/errors.js';
import { createMeasuringPool } from '../../src/queue/measuring-pool.js';
import { mutate } from '../support/mutate.js';
import { SEEDS, type SeedName } from '../support/seed-images.js';

export interface MutationTally {
  kind: string;
  tried: number;
  measured: number;
  /** By error code. */
  refused: Record<string, number>;
  /** What must not be: a measurement that breaks its schema or is not finite, or an error that is not a frame's. */
  wrong: string[];
}

const FILES = fileURLToPath(new URL('../../../shared/files/', import.meta.url));
const OUTSIDE = /\.(nef|cr2|crw|raf|rw2|mrw|x3f|iiq|heic|dng)$/i;

/** Seeds of our own making, and small files of many makers where ../shared is here. */
async function seeds(): Promise<Map<string, Buffer[]>> {
  const kinds = new Map<string, Buffer[]>();
  for (const name of Object.keys(SEEDS) as SeedName[]) kinds.set(name, [await SEEDS[name]()]);
  for (const folder of existsSync(FILES) ? ['exiftool-t', 'heif'] : []) {
    for (const file of readdirSync(join(FILES, folder)).filter((f) => OUTSIDE.test(f))) {
      const kind = `outside ${extname(file).slice(1).toLowerCase()}`;
      kinds.set(kind, [...(kinds.get(kind) ?? []), readFileSync(join(FILES, folder, file))]);
    }
  }
  return kinds;
}

/** Measures `perKind` damaged copies of every kind in the real pool, each within `timeLimitSeconds`. */
export async function measureMutations(perKind: number, timeLimitSeconds: number): Promise<MutationTally[]> {
  const folder = await mkdtemp(join(tmpdir(), 'stopledger-mutations-'));
  const pool = createMeasuringPool({ workers: 2, timeLimitSeconds, maxAttempts: 1 });
  const options = MeasuringOptions.parse({ maxPixels: 4_000_000 });
  try {
    const tallies: MutationTally[] = [];
    for (const [kind, originals] of await seeds()) {
      const tally: MutationTally = { kind, tried: 0, measured: 0, refused: {}, wrong: [] };
      const one = async (seed: number): Promise<void> => {
        const original = originals[seed % originals.length];
        if (original === undefined) return;
        const { bytes, told } = mutate(original, seed);
        const path = join(folder, `${tallies.length}-${seed}`);
        await writeFile(path, bytes);
        tally.tried += 1;
        try {
          const { measurement } = await pool.measure({ path, options });
          tally.measured += 1;
          const checked = FrameMeasurement.safeParse(measurement);
          if (!checked.success) tally.wrong.push(`${told}: ${checked.error.message.slice(0, 200)}`);
          else if (JSON.stringify(measurement) !== JSON.stringify(checked.data))
            tally.wrong.push(`${told}: more than its schema`);
        } catch (thrown) {
          const { code, message } = asStopledgerError(thrown);
          tally.refused[code] = (tally.refused[code] ?? 0) + 1;
          if (!code.startsWith('frame-')) tally.wrong.push(`${told}: ${code} ${message}`);
        } finally {
          await rm(path, { force: true });
        }
      };
      await Promise.all(Array.from({ length: perKind }, (_, seed) => one(seed + 1)));
      tallies.push(tally);
    }
    return tallies;
  } finally {
    await pool.close();
    await rm(folder, { recursive: true, force: true });
  }
}
