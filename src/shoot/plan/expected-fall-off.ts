import type { PlannedLightPlace } from '../../contracts/plan.js';
import { fallOffDownBody } from '../../photometry/fall-off-down-body.js';
import type { HungLight, LightShape } from '../../photometry/hung-light.js';
import { ratioFromStops, stopsFromRatio } from '../../photometry/stops.js';
import { FACE_HEIGHT_SHARE, USUAL_STATURE_METRES, belowFace } from '../../plan/body-places.js';

/** Places between hips and ankles at which the light is reckoned; the integral's error is below a hundredth of a stop. */
const PLACES = 9;
/** Height of the hip as a share of the stature: Drillis & Contini 1966 as drawn in Winter (from memory). */
const HIP_SHARE = 0.53;

function shapeOf({ lightDiameterMetres, lightWidthMetres, lightHeightMetres }: PlannedLightPlace): LightShape {
  if (lightDiameterMetres !== undefined) return { kind: 'disc', radius: lightDiameterMetres / 2 };
  if (lightWidthMetres !== undefined && lightHeightMetres !== undefined)
    return { kind: 'rectangle', width: lightWidthMetres, height: lightHeightMetres };
  return { kind: 'point' };
}

function hungLightOf(place: PlannedLightPlace): HungLight {
  const stature = place.statureMetres ?? USUAL_STATURE_METRES;
  const aim = place.lightAim ?? 'face';
  return {
    shape: shapeOf(place),
    distance: place.lightDistanceMetres,
    raised: place.lightRaisedMetres ?? 0,
    aimDrop: aim === 'level' ? 'level' : belowFace(aim, stature),
  };
}

/**
 * Light on the face minus mean light from hips to ankles that one light at this place gives a standing person: the
 * geometry of `fallOffDownBody`, nothing else in the room.
 *
 * @returns stops, positive where the legs get less; null where no light reaches them.
 * @throws quantity-out-of-range as `fallOffDownBody`.
 */
export function expectedFaceToLowerBodyStops(place: PlannedLightPlace): number | null {
  const stature = place.statureMetres ?? USUAL_STATURE_METRES;
  const hip = (FACE_HEIGHT_SHARE - HIP_SHARE) * stature;
  const ankle = belowFace('ankle', stature);
  const drops = Array.from({ length: PLACES }, (_, i) => hip + ((ankle - hip) * (i + 0.5)) / PLACES);
  const ratios = fallOffDownBody(hungLightOf(place), drops).map(({ fromFaceStops }) =>
    fromFaceStops === null ? 0 : ratioFromStops(fromFaceStops),
  );
  const mean = ratios.reduce((sum, ratio) => sum + ratio, 0) / PLACES;
  return mean > 0 ? -stopsFromRatio(mean) : null;
}
