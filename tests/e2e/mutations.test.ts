import { expect, it } from 'vitest';
import { measureMutations, tallyLine } from '../accuracy/mutations.js';

/**
 * Few on a developer's machine, in CI 2,000 together with those of `bad-input-decode`, more on demand: MUTATIONS=300, and
 * MUTATIONS_OF=heic for kinds whose name contains it, MUTATIONS_FROM=5000 for other seeds than the first ones.
 */
const PER_KIND = Number(process.env['MUTATIONS'] ?? (process.env['CI'] === 'true' ? 43 : 3));
const ONLY = process.env['MUTATIONS_OF'] ?? '';
const FIRST_SEED = Number(process.env['MUTATIONS_FROM'] ?? 1);
const TIME_LIMIT_SECONDS = 10;

it(
  'damaged files of every kind are measured right, or refused with a code of theirs; the pool outlives them',
  async () => {
    const tallies = await measureMutations(PER_KIND, TIME_LIMIT_SECONDS, ONLY, FIRST_SEED);
    if (PER_KIND > 10) for (const tally of tallies) console.log(tallyLine(tally));
    expect(tallies.length).toBeGreaterThan(ONLY === '' ? 6 : 0);
    for (const { kind, tried, measured, refused, timedOut, died, wrong } of tallies) {
      expect(wrong, kind).toEqual([]);
      expect(measured + timedOut + died + Object.values(refused).reduce((a, b) => a + b, 0), kind).toBe(tried);
    }
  },
  60_000 + PER_KIND * 30_000,
);
