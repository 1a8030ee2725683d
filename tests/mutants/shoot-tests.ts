/** Tests of single rules of judging: milliseconds each, so a mutant costs hardly more than being switched on. */
export const FAST_SHOOT_TESTS = [
  'tests/unit/{arrangements-told,causes-of-level,causes-of-regions,clock-evidence,facts-order-light}.test.ts',
  'tests/unit/{level-and-cast-steps,lifts,plan-parts,look-compared,look-told,relevelled,rendering-pairs,rendering-responses,witnesses}.test.ts',
];
