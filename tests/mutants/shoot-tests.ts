/** The fast tests of judging, under which its mutants are tried; the simulator, which finds more, costs seconds a mutant. */
export const FAST_SHOOT_TESTS = [
  'tests/unit/{shoot-judge,shoot-causes,corrections,sitters-across,summary-of-shoot,finished,look}.test.ts',
  'tests/unit/{causes-of-level,causes-of-regions,witnesses,clock-evidence}.test.ts',
  'tests/unit/{plan-compliance,plan-parts,wall-and-face,light-place,other-side,lifts,level-and-cast-steps}.test.ts',
];
