import { requirePositive } from './checks.js';
import { stopsFromRatio } from './stops.js';

/**
 * Illuminance in lux on the axis of an evenly bright Lambertian disc of luminance 1 cd/m2 (multiply by the
 * luminance): pi R^2 / (R^2 + d^2). Standard photometry text result, from memory.
 *
 * @param radius,distance in one unit, above 0.
 */
export function discIlluminancePerLuminance(radius: number, distance: number): number {
  const r2 = requirePositive('radius', radius) ** 2;
  return (Math.PI * r2) / (r2 + requirePositive('distance', distance) ** 2);
}

/**
 * Illuminance on the axis of an evenly bright Lambertian rectangle of luminance 1, at a surface parallel to it:
 * 2 [ A / sqrt(A^2 + d^2) atan(B / sqrt(A^2 + d^2)) + B / sqrt(B^2 + d^2) atan(A / sqrt(B^2 + d^2)) ]
 * with A and B half of the sides. From memory; the tests check it by numerical integration.
 */
export function rectangleIlluminancePerLuminance(width: number, height: number, distance: number): number {
  const a = requirePositive('width', width) / 2;
  const b = requirePositive('height', height) / 2;
  requirePositive('distance', distance);
  const toA = Math.hypot(a, distance);
  const toB = Math.hypot(b, distance);
  return 2 * ((a / toA) * Math.atan(b / toA) + (b / toB) * Math.atan(a / toB));
}

/** How much less a disc gives on its axis than the point law says from its area: log2(d^2 / (d^2 + R^2)), below 0. */
export function discAgainstPointStops(radius: number, distance: number): number {
  const pointLaw = (Math.PI * radius ** 2) / distance ** 2;
  return stopsFromRatio(discIlluminancePerLuminance(radius, distance) / pointLaw);
}

/** How much less a rectangle gives on its axis than the point law says from its area, below 0. */
export function rectangleAgainstPointStops(width: number, height: number, distance: number): number {
  const pointLaw = (width * height) / distance ** 2;
  return stopsFromRatio(rectangleIlluminancePerLuminance(width, height, distance) / pointLaw);
}

/**
 * Change in stops when a round light moves along its axis; negative when further away. Doubling the distance
 * of a close one costs less than 2 stops.
 *
 * @example discFallOffStops(1, 1, 2) // -1.322
 */
export function discFallOffStops(radius: number, fromDistance: number, toDistance: number): number {
  return stopsFromRatio(
    discIlluminancePerLuminance(radius, toDistance) / discIlluminancePerLuminance(radius, fromDistance),
  );
}

/** Change in stops when a rectangular light moves along its axis; negative when further away. */
export function rectangleFallOffStops(width: number, height: number, fromDistance: number, toDistance: number): number {
  return stopsFromRatio(
    rectangleIlluminancePerLuminance(width, height, toDistance) /
      rectangleIlluminancePerLuminance(width, height, fromDistance),
  );
}
