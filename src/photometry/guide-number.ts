import { METER_CONSTANT_C } from './apex.js';
import { requirePositive } from './checks.js';

/*
 * Guide number = f-number x distance for a correct exposure at a stated ISO speed (makers' usage; ISO 1230 not
 * read). All distances here and the guide number are in one unit, and the guide number is that of ISO 100.
 */

/**
 * f-number for a flash at a distance: GN x sqrt(ISO / 100) x sqrt(power) / distance.
 *
 * @param powerShare 1 for full power, 1/2, 1/4, ...; above 0.
 * @example fNumberFromGuideNumber(32, 4) // 8
 */
export function fNumberFromGuideNumber(guideNumber: number, distance: number, iso = 100, powerShare = 1): number {
  return guideNumberAt(guideNumber, iso, powerShare) / requirePositive('distance', distance);
}

/** Distance at which a flash gives a correct exposure at an f-number. */
export function distanceFromGuideNumber(guideNumber: number, fNumber: number, iso = 100, powerShare = 1): number {
  return guideNumberAt(guideNumber, iso, powerShare) / requirePositive('fNumber', fNumber);
}

/** Guide number at another speed and power: x sqrt(ISO / 100), x sqrt(power). */
export function guideNumberAt(guideNumber: number, iso: number, powerShare: number): number {
  requirePositive('guideNumber', guideNumber);
  return (
    guideNumber * Math.sqrt(requirePositive('iso', iso) / 100) * Math.sqrt(requirePositive('powerShare', powerShare))
  );
}

/**
 * Guide number in metres at ISO 100 of a flash that gives so many candela-seconds: sqrt(Q x 100 / C), C = 250
 * (incident meter constant).
 *
 * @example guideNumberFromCandelaSeconds(1000) // 20
 */
export function guideNumberFromCandelaSeconds(candelaSeconds: number): number {
  return Math.sqrt((requirePositive('candelaSeconds', candelaSeconds) * 100) / METER_CONSTANT_C);
}
