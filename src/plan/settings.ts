import type { FNumberSetting, LightTurn, PowerTurn } from '../contracts/plan-arithmetic.js';
import { avFromFNumber } from '../photometry/apex.js';
import { nearestPowerSetting, powerAfter } from '../photometry/flash-power.js';
import { nearestFNumber } from '../photometry/nearest-nominal.js';
import { ratioFromStops, stopsFromRatio, thirdStopSteps } from '../photometry/stops.js';

/** Rounding of arithmetic: nobody turns a light by a thousandth of a stop. */
const NOTHING_STOPS = 5e-4;

/** An f-number by its exact value and the engraved one nearest to it. */
export function fNumberSetting(exactFNumber: number): FNumberSetting {
  return { fNumber: nearestFNumber(exactFNumber)?.nominal ?? null, exactFNumber };
}

/** Stops by which the light for `to` is more than the light for `from`, both f-numbers exact. */
export function lightBetween(fromFNumber: number, toFNumber: number): number {
  return avFromFNumber(toFNumber) - avFromFNumber(fromFNumber);
}

/** How far to turn a light that has to change by so many stops. */
export function lightTurn(turnStops: number): LightTurn {
  const steps = thirdStopSteps(turnStops);
  return {
    direction: Math.abs(turnStops) < NOTHING_STOPS ? 'leave' : turnStops > 0 ? 'up' : 'down',
    turnStops,
    thirdStopSteps: steps,
    remainderStops: turnStops - steps / 3,
    lightRatio: ratioFromStops(turnStops),
  };
}

/** Where a power share comes to when its light is turned; null when no share is known. */
export function powerTurn(fromShare: number | null, turnStops: number): PowerTurn | null {
  if (fromShare === null) return null;
  const toShare = powerAfter(fromShare, turnStops);
  return { fromShare, toShare, ...powerNamed(toShare) };
}

/** The nearest setting of a power share, or how far it lies beyond full power. */
export function powerNamed(share: number): Pick<PowerTurn, 'setting' | 'beyondFullStops'> {
  const aboveFullStops = stopsFromRatio(share);
  return {
    setting: nearestPowerSetting(share),
    beyondFullStops: aboveFullStops > NOTHING_STOPS ? aboveFullStops : null,
  };
}
