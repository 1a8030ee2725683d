import { requireNotNegative, requirePositive } from './checks.js';
import { stopsFromRatio } from './stops.js';

/*
 * "3:1" means different things to different authors. Two quantities are kept apart here:
 *   additive  what a picture shows: highlight side (key + fill) against shadow side (fill), (K + F) : F.
 *             Attributed to the ASC; the current encyclopaedia definition.
 *   source    what two meter readings of the lights alone show: K : F. The older definition.
 * additive = source + 1, where the fill lights both sides.
 */

/** Additive ratio (K + F) : F of a source ratio K : F. @example additiveFromSourceRatio(1) // 2 */
export function additiveFromSourceRatio(sourceRatio: number): number {
  return requireNotNegative('sourceRatio', sourceRatio) + 1;
}

/** Source ratio K : F of an additive ratio, which is 1 (no key at all) or more. */
export function sourceFromAdditiveRatio(additiveRatio: number): number {
  return requireNotNegative('additiveRatio - 1', additiveRatio - 1);
}

/** Highlight-to-shadow difference in stops of an additive ratio. @example highlightToShadowStops(3) // 1.585 */
export function highlightToShadowStops(additiveRatio: number): number {
  return stopsFromRatio(additiveRatio);
}

/**
 * How many stops the key must meter above the fill, each alone, for the picture to show an additive ratio:
 * log2(ratio - 1).
 *
 * @throws quantity-out-of-range for a ratio of 1 or less: that needs no key.
 * @example keyOverFillStops(3) // 1
 */
export function keyOverFillStops(additiveRatio: number): number {
  return stopsFromRatio(requirePositive('additiveRatio - 1', additiveRatio - 1));
}

/** Highlight-to-shadow difference in stops that a key metered so many stops above the fill will show. */
export function highlightToShadowFromKeyOverFillStops(keyOverFill: number): number {
  return stopsFromRatio(2 ** keyOverFill + 1);
}
