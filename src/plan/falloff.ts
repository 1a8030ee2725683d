import type { FallOffArithmetic } from '../contracts/plan-arithmetic.js';
import { fallOffDownBody, levelOnAxisStops } from '../photometry/fall-off-down-body.js';
import { inverseSquareStops } from '../photometry/inverse-square.js';
import { planCautions } from './cautions.js';
import { type LightQuestion, OVERHEAD_METRES, hungLight, placesOf, plannedLight } from './planned-light.js';

export interface FallOffQuestion extends LightQuestion {
  light: 'flash' | 'continuous' | null;
}

/** Distances of the second table, as multiples of the light's own. */
const TIMES = [1 / 2, Math.SQRT1_2, 1, Math.SQRT2, 2, 3] as const;

/** How a light at a distance, height and size falls off down a standing body, and straight ahead with distance. */
export function planFallOff(question: FallOffQuestion): FallOffArithmetic {
  const light = hungLight(question);
  const places = placesOf(question);
  const fallOff = fallOffDownBody(
    light,
    places.map(({ belowFaceMetres }) => belowFaceMetres),
  );
  const onAxisFrom = Math.hypot(light.distance, light.raised);
  return {
    kind: 'falloff',
    light: plannedLight(question),
    statureMetres: question.belowFaceMetres === null ? question.statureMetres : null,
    places: fallOff.map((at, i) => ({
      place: places[i]?.place ?? '',
      belowFaceMetres: at.drop,
      fromLightMetres: at.distance,
      incidenceDegrees: at.incidenceDegrees,
      fromFaceStops: at.fromFaceStops,
    })),
    onAxis: TIMES.map((times) => ({
      distanceMetres: onAxisFrom * times,
      fromHereStops: levelOnAxisStops(light.shape, onAxisFrom, onAxisFrom * times),
      pointLawStops: inverseSquareStops(onAxisFrom, onAxisFrom * times),
    })),
    cautions: planCautions({ light: question.light, overhead: light.raised > OVERHEAD_METRES }),
  };
}
