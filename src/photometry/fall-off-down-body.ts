import { StopledgerError } from '../errors.js';
import { discFallOffStops, rectangleFallOffStops } from './area-light.js';
import { type HungLight, type LightShape, illuminanceOnBody } from './hung-light.js';
import { inverseSquareStops } from './inverse-square.js';
import { stopsFromRatio, stopsFromRatioOrNull } from './stops.js';

export interface FallOffAtPlace {
  /** Below the face, in the light's unit. */
  drop: number;
  /** From the light's middle, in the light's unit. */
  distance: number;
  /** Between the light's direction and the straight look out of the body, 0..90 degrees. */
  incidenceDegrees: number;
  /** Light here against the light on the face; null where none arrives. */
  fromFaceStops: number | null;
}

/**
 * Light down an upright body against the light on its face, by distance, angle of incidence and the light's size.
 * A model of geometry: one light, nothing else in the room, no reflection from the floor.
 *
 * @throws quantity-out-of-range when no light reaches the face, and as `illuminanceOnBody`.
 * @example fallOffDownBody({ shape: { kind: 'point' }, distance: 2, raised: 0, aimDrop: 0 }, [1.5]) // -0.966
 */
export function fallOffDownBody(light: HungLight, drops: readonly number[]): FallOffAtPlace[] {
  const face = onFace(light);
  return drops.map((drop) => {
    const up = light.raised + drop;
    return {
      drop,
      distance: Math.hypot(light.distance, up),
      incidenceDegrees: (Math.atan2(Math.abs(up), light.distance) * 180) / Math.PI,
      fromFaceStops: stopsFromRatioOrNull(illuminanceOnBody(light, drop) / face),
    };
  });
}

/** What moving, raising or turning one and the same light does to the face, its output unchanged. */
export function changeOnFaceStops(before: HungLight, after: HungLight): number {
  return stopsFromRatio(onFace(after) / onFace(before));
}

/** Change of the light on the axis of a light of this shape from one distance to another; the closed forms. */
export function levelOnAxisStops(shape: LightShape, fromDistance: number, toDistance: number): number {
  if (shape.kind === 'point') return inverseSquareStops(fromDistance, toDistance);
  if (shape.kind === 'disc') return discFallOffStops(shape.radius, fromDistance, toDistance);
  return rectangleFallOffStops(shape.width, shape.height, fromDistance, toDistance);
}

function onFace(light: HungLight): number {
  const face = illuminanceOnBody(light, 0);
  if (face > 0) return face;
  throw new StopledgerError(
    'quantity-out-of-range',
    `Expected a light that reaches the face, but this one points away from it: distance ${light.distance}, ` +
      `raised ${light.raised}, aimed ${light.aimDrop === 'level' ? 'level' : `${light.aimDrop} below the face`}`,
  );
}
