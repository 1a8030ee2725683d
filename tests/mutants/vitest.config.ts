import { resolve } from 'node:path';
import { defineConfig } from 'vitest/config';

/** The fast tests of the pure rooms, under which mutants are tried. */
export default defineConfig({
  root: resolve(import.meta.dirname, '../..'),
  test: {
    include: [
      'tests/property/{photometry,robust-and-pelt,shoot}.test.ts',
      'tests/reference/{apex,colour-temperature,encodings,expected-fall-off,flash-bits,icc-luminance,lighting}.test.ts',
      'tests/reference/{nominal-scales,pelt,plan-arithmetic,robust-statistics,stated-colour,tone-response}.test.ts',
      'tests/unit/{shoot-*,look,corrections,finished,plan-compliance,other-side}.test.ts',
    ],
    testTimeout: 60_000,
    pool: 'threads',
  },
});
