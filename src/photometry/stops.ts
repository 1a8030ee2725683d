import { requireFinite, requireNotNegative, requirePositive } from './checks.js';

/**
 * Mid-grey: the luminance of the 18 % grey card relative to diffuse white = 1. Common practice (the card is
 * 18 %); no single standard defines it.
 */
export const MID_GREY_LINEAR = 0.18;

/**
 * Stops between two amounts of light whose ratio is given: log2(ratio). Doubling is +1.
 * A stop is by definition a factor of two in exposure.
 *
 * @throws quantity-out-of-range for a ratio of 0 or less, NaN or infinity; see `stopsFromRatioOrNull` for 0.
 * @example stopsFromRatio(2) // 1
 */
export function stopsFromRatio(ratio: number): number {
  return Math.log2(requirePositive('ratio', ratio));
}

/**
 * As `stopsFromRatio`, but `null` for a ratio of exactly 0: no light has no level in stops, and minus
 * infinity must not reach a report.
 *
 * @throws quantity-out-of-range for a negative ratio, NaN or infinity.
 */
export function stopsFromRatioOrNull(ratio: number): number | null {
  return requireNotNegative('ratio', ratio) === 0 ? null : Math.log2(ratio);
}

/** The ratio of light that a difference in stops stands for: 2^stops. */
export function ratioFromStops(stops: number): number {
  return 2 ** requireFinite('stops', stops);
}

/**
 * Level of a luminance: log2(Y / 0.18), Y relative to diffuse white = 1. `null` for 0 and below (black, or
 * a raw value under the black level): there is no level to name.
 *
 * @throws quantity-out-of-range for NaN or infinity.
 * @example levelStopsFromLinear(0.36) // 1
 */
export function levelStopsFromLinear(linearY: number): number | null {
  return requireFinite('linearY', linearY) <= 0 ? null : Math.log2(linearY / MID_GREY_LINEAR);
}

/** Luminance (diffuse white = 1) of a level: 0.18 x 2^levelStops. */
export function linearFromLevelStops(levelStops: number): number {
  return MID_GREY_LINEAR * 2 ** requireFinite('levelStops', levelStops);
}

/**
 * Nearest whole number of third-stop steps, the clicks of a camera dial or of most lights. Halves go away
 * from zero, so that +x and -x are always the same number of clicks.
 *
 * @example thirdStopSteps(0.7) // 2
 */
export function thirdStopSteps(stops: number): number {
  const steps = Math.round(Math.abs(requireFinite('stops', stops)) * 3);
  return steps === 0 ? 0 : Math.sign(stops) * steps;
}
