export const FAULT_KINDS = [
  'iso-knocked',
  'aperture-knocked',
  'light-missing',
  'light-short',
  'light-stepped',
  'cast-knocked',
  'subject-moved',
  'subject-nearer',
  'wall-light-off',
  'legs-dark',
  'face-clipped',
] as const;
/** Those that are put in one by one, those of a whole set-up (simulated-habits.ts), and the shutter's under mixed light. */
export type FaultKind = (typeof FAULT_KINDS)[number] | 'light-drifted' | 'exposure-wandered' | 'shutter-changed';

/** What can be put in: also a change of settings that is made up for, which is no fault. */
export type Injected = (typeof FAULT_KINDS)[number] | 'shutter-changed' | 'compensated';

/** Kinds whose truth is a level that is off; the others are scored by their own code only. */
export const LEVEL_FAULTS: ReadonlySet<FaultKind> = new Set([
  'iso-knocked',
  'aperture-knocked',
  'light-missing',
  'light-short',
  'light-stepped',
  'subject-moved',
  'subject-nearer',
  'light-drifted',
  'exposure-wandered',
  'shutter-changed',
]);
