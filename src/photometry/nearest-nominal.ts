import { requirePositive } from './checks.js';
import { F_HALF, F_THIRD, ISO_HALF, ISO_THIRD, T_HALF, T_THIRD, type Scale } from './nominal-series.js';

export interface NearestNominal {
  /** As engraved or shown. */
  nominal: number;
  /** What it stands for. */
  exact: number;
  /** Wanted value against the exact one, in stops of that value: positive means that more was wanted. */
  remainderStops: number;
}

/** Half a third-stop step, and a hair for rounding: further from every value means off the scale. */
const REACH_STOPS = 1 / 6 + 1e-6;
/** A half-stop value has to be clearly nearer than the third-stop one: third stops are what most dials click in. */
const CLEARLY_NEARER_STOPS = 0.03;

/** The f-number on a camera's scale nearest to a wanted one; null off the scale. @example nearestFNumber(11.3137) // 11 */
export function nearestFNumber(wanted: number): NearestNominal | null {
  return nearest(requirePositive('fNumber', wanted), 2, F_THIRD, F_HALF);
}

/** The exposure time on a camera's scale nearest to a wanted one; null off the scale. */
export function nearestExposureTimeSeconds(wanted: number): NearestNominal | null {
  return nearest(requirePositive('exposureTimeSeconds', wanted), 1, T_THIRD, T_HALF);
}

/** The ISO speed on a camera's scale nearest to a wanted one; null off the scale. */
export function nearestIso(wanted: number): NearestNominal | null {
  return nearest(requirePositive('iso', wanted), 1, ISO_THIRD, ISO_HALF);
}

function nearest(wanted: number, stopsPerOctave: number, third: Scale, half: Scale): NearestNominal | null {
  const onThird = nearestOn(wanted, stopsPerOctave, third);
  const onHalf = nearestOn(wanted, stopsPerOctave, half);
  const best =
    Math.abs(onHalf.remainderStops) < Math.abs(onThird.remainderStops) - CLEARLY_NEARER_STOPS ? onHalf : onThird;
  return Math.abs(best.remainderStops) <= REACH_STOPS ? best : null;
}

function nearestOn(wanted: number, stopsPerOctave: number, scale: Scale): NearestNominal {
  let best: NearestNominal = { nominal: Number.NaN, exact: Number.NaN, remainderStops: Infinity };
  for (const [nominal, exact] of scale) {
    const remainderStops = stopsPerOctave * Math.log2(wanted / exact);
    if (Math.abs(remainderStops) < Math.abs(best.remainderStops) - 1e-9) best = { nominal, exact, remainderStops };
  }
  return best;
}
