import { requirePositive } from './checks.js';
import { ratioFromStops, stopsFromRatio, thirdStopSteps } from './stops.js';

/** A power as written on a flash: 1/4 and 2 third-stop steps more. */
export interface PowerSetting {
  /** 1, 1/2, 1/4, ... */
  wholeStopShare: number;
  /** Third-stop steps above it: 0, 1 or 2. */
  extraThirdStopSteps: number;
}

/** Power share after turning by so many stops; above 1 it is more than the flash has. @example powerAfter(1 / 4, 1) // 0.5 */
export function powerAfter(powerShare: number, stops: number): number {
  return requirePositive('powerShare', powerShare) * ratioFromStops(stops);
}

/**
 * The nearest setting in third-stop steps of a power share up to full; null above full power.
 *
 * @example nearestPowerSetting(0.315) // { wholeStopShare: 1 / 4, extraThirdStopSteps: 1 }
 */
export function nearestPowerSetting(powerShare: number): PowerSetting | null {
  const steps = thirdStopSteps(stopsFromRatio(powerShare));
  if (steps > 0) return null;
  const wholeStops = Math.ceil(-steps / 3);
  return { wholeStopShare: 2 ** -wholeStops, extraThirdStopSteps: steps + 3 * wholeStops };
}

/** Guide number at ISO 100 of one told for another speed: GN / sqrt(ISO / 100). */
export function guideNumberAtIso100(guideNumber: number, iso: number): number {
  return requirePositive('guideNumber', guideNumber) / Math.sqrt(requirePositive('iso', iso) / 100);
}

/** Power share that a flash needs for an f-number at a distance: (f-number x distance / GN)^2 x 100 / ISO. */
export function powerForGuideNumber(guideNumber: number, fNumber: number, distance: number, iso: number): number {
  const needed = requirePositive('fNumber', fNumber) * requirePositive('distance', distance);
  return (needed / requirePositive('guideNumber', guideNumber)) ** 2 * (100 / requirePositive('iso', iso));
}
