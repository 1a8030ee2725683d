import { bracketFromSamples, type BracketFrameSamples } from './bracket.js';
import { fitResponse, type FitRefusal, type ResponseFit } from './fit-response.js';

/** Least uncertainty claimed of a calibration: what shutters and apertures themselves repeat to; common practice, no single source. */
const LEAST_UNCERTAINTY_STOPS = 0.02;

export interface Calibrated extends ResponseFit {
  frames: number;
  spanStops: number;
  /** Standard uncertainty of one stop read through the fit: what its own steps are off by. */
  uncertaintyStops: number;
}

/** Fits a bracket and says how far the fit can be trusted. */
export function calibrate(frames: readonly BracketFrameSamples[]): Calibrated | FitRefusal {
  const bracket = bracketFromSamples(frames);
  const fit = fitResponse(bracket);
  if ('refused' in fit) return fit;
  // Weighted by the places seen: a step between two nearly black frames rests on few and says little.
  let squares = 0;
  let places = 0;
  for (const { measuredStops, trueStops, sites } of fit.steps) {
    squares += sites * (measuredStops / trueStops - 1) ** 2;
    places += sites;
  }
  const rms = Math.sqrt(squares / Math.max(1, places));
  return {
    ...fit,
    frames: frames.length,
    spanStops: bracket.exposureStops.at(-1)! - bracket.exposureStops[0]!,
    uncertaintyStops: Math.max(LEAST_UNCERTAINTY_STOPS, rms),
  };
}
