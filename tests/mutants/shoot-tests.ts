/** Tests of single rules of judging: milliseconds each, so a mutant costs hardly more than being switched on. */
export const FAST_SHOOT_TESTS = [
  'tests/unit/{causes,facts,plan}/*.test.ts',
  'tests/unit/{arrangements-told,clock-evidence,level-and-cast-steps,lifts,look-compared,look-told,relevelled,rendering-pairs,rendering-responses,witnesses}.test.ts',
];
