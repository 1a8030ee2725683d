/** Tests of single rules of judging: milliseconds each, so a mutant costs hardly more than being switched on. */
const ONE_BY_ONE = [
  'tests/unit/{arrangements-told,causes-of-level,causes-of-regions,clock-evidence,facts-order-light}.test.ts',
  'tests/unit/{level-and-cast-steps,lifts,plan-parts,witnesses}.test.ts',
];

/** Tests that judge whole small shoots; the simulator, which finds more, costs seconds a mutant. */
const WHOLE_SHOOTS = [
  'tests/unit/{corrections,finished,look,shoot-causes,shoot-judge,sitters-across,summary-of-shoot}.test.ts',
  'tests/unit/{light-place,other-side,plan-compliance,wall-and-face}.test.ts',
];

/** The fast tests of judging, under which its mutants are tried. */
export const FAST_SHOOT_TESTS = [...ONE_BY_ONE, ...WHOLE_SHOOTS];
