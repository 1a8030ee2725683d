import type { PlannedLight } from '../contracts/plan-arithmetic.js';
import type { HungLight, LightShape } from '../photometry/hung-light.js';
import { type BodyPlace, BODY_PLACES, belowFace } from './body-places.js';

/** Metres throughout. */
export interface LightQuestion {
  shape: LightShape;
  distanceMetres: number;
  raisedMetres: number;
  aim: BodyPlace | 'level';
  statureMetres: number;
  /** Places told as lengths below the face, in place of waist, knee and ankle. */
  belowFaceMetres: readonly number[] | null;
}

export interface NamedPlace {
  place: string;
  belowFaceMetres: number;
}

/** The face first, then the places down the body. */
export function placesOf({ statureMetres, belowFaceMetres }: LightQuestion): NamedPlace[] {
  if (belowFaceMetres === null)
    return BODY_PLACES.map((place) => ({ place, belowFaceMetres: belowFace(place, statureMetres) }));
  const told = belowFaceMetres.map((drop) => ({ place: 'place told', belowFaceMetres: drop }));
  return [{ place: 'face', belowFaceMetres: 0 }, ...told];
}

export function hungLight({ shape, distanceMetres, raisedMetres, aim, statureMetres }: LightQuestion): HungLight {
  return {
    shape,
    distance: distanceMetres,
    raised: raisedMetres,
    aimDrop: aim === 'level' ? 'level' : belowFace(aim, statureMetres),
  };
}

export function plannedLight(question: LightQuestion): PlannedLight {
  const { shape, distanceMetres, raisedMetres, aim } = question;
  const width = shape.kind === 'disc' ? 2 * shape.radius : shape.kind === 'rectangle' ? shape.width : null;
  return {
    shape: shape.kind === 'disc' ? 'round' : shape.kind === 'rectangle' ? 'panel' : 'point',
    diameterMetres: shape.kind === 'disc' ? 2 * shape.radius : null,
    widthMetres: shape.kind === 'rectangle' ? shape.width : null,
    heightMetres: shape.kind === 'rectangle' ? shape.height : null,
    distanceMetres,
    raisedMetres,
    aim,
    seenWidthDegrees:
      width === null ? null : (2 * Math.atan(width / 2 / Math.hypot(distanceMetres, raisedMetres)) * 180) / Math.PI,
  };
}

/** Raised this far, the light's middle stands above the head of a person who stands under it. */
export const OVERHEAD_METRES = 0.2;
