/** Tests of single rules of judging: milliseconds each, so a mutant costs hardly more than being switched on. */
export const FAST_SHOOT_TESTS = [
  'tests/unit/{causes,facts,plan}/*.test.ts',
  'tests/unit/{arrangements-told,automation-told,clock-evidence,drift-spans,drifts-found,findings-ranked}.test.ts',
  'tests/unit/{frames-reported,judge-steps,level-and-cast-steps,lifts,look-compared,look-figures,look-told}.test.ts',
  'tests/unit/{looks-alike,relevelled,rendering-pairs,rendering-responses,setups-built,setups-described}.test.ts',
  'tests/unit/{setups-joined,setups-reported,sitter-runs,steps-found,summary-parts,track-signals,witnesses}.test.ts',
];
