import { requirePositive } from './checks.js';
import { stopsFromRatio } from './stops.js';

/**
 * Change of illuminance in stops when a point source moves from one distance to another: -2 log2(d2 / d1).
 * Negative when it goes further away. Inverse-square law, IES definition 9.1.1; within 1 % for sources seen
 * from at least five times their largest dimension (see area-light.ts for nearer ones).
 *
 * @param fromDistance,toDistance in one unit, above 0.
 * @example inverseSquareStops(1, 2) // -2
 */
export function inverseSquareStops(fromDistance: number, toDistance: number): number {
  requirePositive('fromDistance', fromDistance);
  requirePositive('toDistance', toDistance);
  return -2 * stopsFromRatio(toDistance / fromDistance);
}

/**
 * Distance at which a point source gives that many stops more than at `fromDistance`.
 *
 * @example distanceForStops(2, -1) // 2.828...
 */
export function distanceForStops(fromDistance: number, stops: number): number {
  return requirePositive('fromDistance', fromDistance) * 2 ** (-stops / 2);
}

/**
 * Light lost by turning a surface away from a light: log2(cos angle), 0 or below. Cosine law (Lambert).
 *
 * @returns null at 90 degrees and beyond, where no light arrives.
 */
export function incidenceStops(angleDegrees: number): number | null {
  const cosine = Math.cos((angleDegrees * Math.PI) / 180);
  return cosine <= 1e-12 ? null : stopsFromRatio(cosine);
}

/**
 * Stops by which a point of an upright body that lies `dropDistance` below (or above) a light's height gets
 * less light than the point level with it, both facing the light's side. A small bare source loses the
 * square of the longer path and the cosine of the incidence (cos^3); a flat panel facing the body also loses
 * the cosine of its own emission (cos^4). Geometry, no single source.
 *
 * @param lightDistance horizontal distance from light to body, above 0, same unit as dropDistance.
 * @example fallOffDownBodyStops(2, 1.5, 'bare') // -0.966
 */
export function fallOffDownBodyStops(lightDistance: number, dropDistance: number, source: 'bare' | 'panel'): number {
  requirePositive('lightDistance', lightDistance);
  const cosine = lightDistance / Math.hypot(lightDistance, dropDistance);
  return (source === 'bare' ? 3 : 4) * stopsFromRatio(cosine);
}
