import type { LookFigures } from '../../src/contracts/look.js';
import type { ArrangementChange } from '../../src/shoot/arrangement-change.js';

/** Two set-ups with nothing between them. */
export const NO_CHANGE: ArrangementChange = {
  wallLightStops: 0,
  subjectLightStops: 0,
  levelStops: 0,
  sideToSideStops: 0,
  sidesSwapped: false,
  mired: 0,
  fallOff: () => ({ stops: null, by: null }),
  settingsStops: 0,
  largestSettingStops: 0,
  focalLog2: 0,
  cameraTouched: false,
  sittersShared: true,
  sittersRecognised: false,
};

/** A look of which nothing is known. */
export const NO_FIGURES: LookFigures = {
  subjectLevel: null,
  backgroundLevel: null,
  personToBackground: null,
  sideToSide: null,
  faceToLowerBodyLight: null,
  castMired: null,
  castDuv: null,
};
