import type { MoveArithmetic } from '../contracts/plan-arithmetic.js';
import { fNumberFromAv, avFromFNumber } from '../photometry/apex.js';
import { changeOnFaceStops, fallOffDownBody } from '../photometry/fall-off-down-body.js';
import { planCautions } from './cautions.js';
import { type LightQuestion, OVERHEAD_METRES, hungLight, placesOf, plannedLight } from './planned-light.js';
import { fNumberSetting, lightTurn, powerTurn } from './settings.js';

export interface MoveQuestion {
  before: LightQuestion;
  /** Where it goes to. */
  toDistanceMetres: number;
  toRaisedMetres: number;
  powerShare: number | null;
  /** Exact f-number set now. */
  exactFNumber: number | null;
  light: 'flash' | 'continuous' | null;
}

/** What moving a light does to its fall-off down the body, and what that costs in power. */
export function planMove(question: MoveQuestion): MoveArithmetic {
  const after: LightQuestion = {
    ...question.before,
    distanceMetres: question.toDistanceMetres,
    raisedMetres: question.toRaisedMetres,
  };
  const [lightBefore, lightAfter] = [hungLight(question.before), hungLight(after)];
  const places = placesOf(question.before);
  const drops = places.map(({ belowFaceMetres }) => belowFaceMetres);
  const rowsAfter = fallOffDownBody(lightAfter, drops);
  const faceChangeStops = changeOnFaceStops(lightBefore, lightAfter);
  return {
    kind: 'move',
    before: plannedLight(question.before),
    after: plannedLight(after),
    statureMetres: question.before.belowFaceMetres === null ? question.before.statureMetres : null,
    places: fallOffDownBody(lightBefore, drops).map((at, i) => {
      const later = rowsAfter[i]?.fromFaceStops ?? null;
      return {
        place: places[i]?.place ?? '',
        belowFaceMetres: at.drop,
        beforeFromFaceStops: at.fromFaceStops,
        afterFromFaceStops: later,
        changeStops: at.fromFaceStops === null || later === null ? null : later - at.fromFaceStops,
      };
    }),
    faceChangeStops,
    turn: lightTurn(-faceChangeStops),
    power: powerTurn(question.powerShare, -faceChangeStops),
    insteadAperture:
      question.exactFNumber === null
        ? null
        : fNumberSetting(fNumberFromAv(avFromFNumber(question.exactFNumber) + faceChangeStops)),
    cautions: planCautions({ light: question.light, overhead: lightAfter.raised > OVERHEAD_METRES }),
  };
}
