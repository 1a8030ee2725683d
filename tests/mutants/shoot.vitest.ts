import { resolve } from 'node:path';
import { defineConfig } from 'vitest/config';

/** The fast tests of judging, under which its mutants are tried; the simulator, which finds more, costs seconds a mutant. */
export default defineConfig({
  root: resolve(import.meta.dirname, '../..'),
  test: {
    include: [
      'tests/unit/{shoot-judge,shoot-causes,corrections,sitters-across,summary-of-shoot,finished,look}.test.ts',
      'tests/unit/{plan-compliance,wall-and-face,light-place,other-side}.test.ts',
    ],
    testTimeout: 60_000,
    pool: 'threads',
  },
});
