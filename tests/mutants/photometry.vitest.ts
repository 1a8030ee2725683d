import { resolve } from 'node:path';
import { defineConfig } from 'vitest/config';

/** The fast tests of photometry, under which its mutants are tried: no judged shoot, which would cost seconds a mutant. */
export default defineConfig({
  root: resolve(import.meta.dirname, '../..'),
  test: {
    include: [
      'tests/property/{photometry,robust-and-pelt,slope-within-groups}.test.ts',
      'tests/reference/{apex,colour-temperature,encodings,expected-fall-off,flash-bits,icc-luminance,lighting}.test.ts',
      'tests/reference/{nominal-scales,pelt,photometry-refusals,photometry-values,plan-arithmetic,plan-reading}.test.ts',
      'tests/reference/{robust-statistics,stated-colour,tone-response}.test.ts',
    ],
    testTimeout: 60_000,
    pool: 'threads',
  },
});
