import { StopledgerError } from '../errors.js';
import { requireFinite, requirePositive } from './checks.js';
import { gaussLegendre } from './gauss-legendre.js';

/** What shines: a small bare source, an evenly bright round surface, or an evenly bright rectangular one. */
export type LightShape =
  { kind: 'point' } | { kind: 'disc'; radius: number } | { kind: 'rectangle'; width: number; height: number };

/**
 * A light in front of an upright body; all lengths in one unit. `distance` is the level distance from the body to
 * the light's middle, above 0; `raised` how far its middle stands above the face (negative: below).
 */
export interface HungLight {
  shape: LightShape;
  distance: number;
  raised: number;
  /** The light's middle points at the body this far below the face; `level`: straight ahead. No matter for a point. */
  aimDrop: number | 'level';
}

/** Level direction out of the body is z, up is y; the face is the origin. */
interface Aim {
  y: number;
  z: number;
}

/**
 * Illuminance on an upright surface of the body, facing the light's side, at a place `drop` below the face
 * (negative: above). Per intensity 1 for a point, per luminance 1 for a surface.
 *
 * A point follows the inverse-square and cosine laws: cos(incidence) / r^2. For a Lambertian surface
 * cos(incidence) cos(emission) / r^2 is integrated over its face: E = L ∫ cos cos / r^2 dA, the definition; parts
 * behind the body's surface or turned away give nothing. Level with the middle of a light that points straight
 * ahead this is the closed form of area-light.ts (a test holds it to that), and off that axis to the
 * configuration factors for a disc and a polygon.
 *
 * @returns 0 where no light arrives.
 * @throws quantity-out-of-range for lengths that are not numbers above 0, or a light that would reach into the body.
 */
export function illuminanceOnBody(light: HungLight, drop: number): number {
  requirePositive('distance', light.distance);
  requireFinite('raised', light.raised);
  requireFinite('drop', drop);
  const { shape, distance } = light;
  const up = light.raised + drop;
  if (shape.kind === 'point') return distance / Math.hypot(distance, up) ** 3;

  const aim = aimOf(light);
  requireClear(light, aim);
  // One small part of the surface, s to the side of its middle and t along it upwards.
  const partGives = (s: number, t: number): number => {
    const y = up - t * aim.z;
    const z = distance + t * aim.y;
    const squared = s * s + y * y + z * z;
    const emitted = -(y * aim.y + z * aim.z);
    return z > 0 && emitted > 0 ? (z * emitted) / squared ** 2 : 0;
  };
  return shape.kind === 'rectangle'
    ? overRectangle(shape.width, shape.height, distance, partGives)
    : overDisc(shape.radius, distance, partGives);
}

function aimOf(light: HungLight): Aim {
  if (light.aimDrop === 'level') return { y: 0, z: -1 };
  const y = -requireFinite('aimDrop', light.aimDrop) - light.raised;
  const length = Math.hypot(y, light.distance);
  return { y: y / length, z: -light.distance / length };
}

/** Nodes enough for 1e-6 of the value: more of them the nearer the light. */
const nodesFor = (size: number, distance: number): number =>
  Math.min(160, Math.max(12, Math.ceil(10 + (14 * size) / distance)));

function overRectangle(
  width: number,
  height: number,
  distance: number,
  partGives: (s: number, t: number) => number,
): number {
  const across = gaussLegendre(nodesFor(width, distance));
  const along = gaussLegendre(nodesFor(height, distance));
  let sum = 0;
  across.nodes.forEach((x, i) => {
    along.nodes.forEach((y, j) => {
      const weight = (across.weights[i] ?? 0) * (along.weights[j] ?? 0);
      sum += weight * partGives((x * width) / 2, (y * height) / 2);
    });
  });
  return (sum * width * height) / 4;
}

function overDisc(radius: number, distance: number, partGives: (s: number, t: number) => number): number {
  const outward = gaussLegendre(nodesFor(2 * radius, distance));
  const around = 2 * nodesFor(2 * radius, distance);
  let sum = 0;
  outward.nodes.forEach((node, i) => {
    const r = (radius * (node + 1)) / 2;
    for (let k = 0; k < around; k += 1) {
      const angle = (2 * Math.PI * (k + 0.5)) / around;
      sum += (outward.weights[i] ?? 0) * r * partGives(r * Math.cos(angle), r * Math.sin(angle));
    }
  });
  return (sum * radius * Math.PI) / around;
}

function requireClear(light: HungLight, aim: Aim): void {
  const { shape } = light;
  if (shape.kind === 'point') return;
  if (shape.kind === 'disc') requirePositive('radius', shape.radius);
  else {
    requirePositive('width', shape.width);
    requirePositive('height', shape.height);
  }
  const half = shape.kind === 'disc' ? shape.radius : shape.height / 2;
  const nearest = light.distance - half * Math.abs(aim.y);
  if (nearest > 0.02 * light.distance) return;
  throw new StopledgerError(
    'quantity-out-of-range',
    `Expected a light that stays in front of the body, but tilted like this its edge would reach it: ` +
      `distance ${light.distance}, half its height ${half}, raised ${light.raised}`,
  );
}
