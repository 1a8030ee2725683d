import { expect, it } from 'vitest';
import { measureMutations } from '../accuracy/mutations.js';

/** More on demand: MUTATIONS=300. */
const PER_KIND = Number(process.env['MUTATIONS'] ?? 3);
const TIME_LIMIT_SECONDS = 20;

it(
  'damaged files of every kind are measured right, or refused with a code of theirs; the pool outlives them',
  async () => {
    const tallies = await measureMutations(PER_KIND, TIME_LIMIT_SECONDS);
    expect(tallies.length).toBeGreaterThan(6);
    for (const { kind, tried, measured, refused, wrong } of tallies) {
      expect(wrong, kind).toEqual([]);
      expect(measured + Object.values(refused).reduce((a, b) => a + b, 0), kind).toBe(tried);
      if (PER_KIND > 10) console.log(kind.padEnd(24), tried, 'tried,', measured, 'measured;', JSON.stringify(refused));
    }
  },
  60_000 + PER_KIND * 30_000,
);
