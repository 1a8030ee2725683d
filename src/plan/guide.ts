import type { GuideArithmetic } from '../contracts/plan-arithmetic.js';
import { StopledgerError } from '../errors.js';
import { guideNumberAtIso100, powerForGuideNumber } from '../photometry/flash-power.js';
import { distanceFromGuideNumber, fNumberFromGuideNumber } from '../photometry/guide-number.js';
import { METRES_PER_FOOT } from '../photometry/length.js';
import { stopsFromRatio } from '../photometry/stops.js';
import { planCautions } from './cautions.js';
import { fNumberSetting, lightBetween, powerNamed } from './settings.js';

export interface GuideQuestion {
  /** In metres, at full power and at `guideIso`. */
  guideNumberMetres: number;
  guideIso: number;
  /** Exact ISO speed to shoot at. */
  exactIso: number;
  distanceMetres: number | null;
  exactFNumber: number | null;
  powerShare: number | null;
}

const POWERS = [1, 1 / 2, 1 / 4, 1 / 8, 1 / 16, 1 / 32, 1 / 64, 1 / 128] as const;

/**
 * Guide-number arithmetic: of distance, aperture and power any two give the third (distance or aperture alone:
 * at full power); all three give how far they are from agreeing.
 *
 * @throws bad-usage when neither distance nor aperture is told.
 */
export function planGuide(question: GuideQuestion): GuideArithmetic {
  const guide = guideNumberAtIso100(question.guideNumberMetres, question.guideIso);
  const solved = solve(guide, question);
  return {
    kind: 'guide',
    solvedFor: solved.solvedFor,
    guideNumberMetres: guide,
    guideNumberFeet: guide / METRES_PER_FOOT,
    exactIso: question.exactIso,
    powerShare: solved.powerShare,
    ...powerNamed(solved.powerShare),
    distanceMetres: solved.distanceMetres,
    aperture: fNumberSetting(solved.exactFNumber),
    differenceStops:
      solved.solvedFor === 'difference'
        ? lightBetween(
            solved.exactFNumber,
            fNumberFromGuideNumber(guide, solved.distanceMetres, question.exactIso, solved.powerShare),
          )
        : 0,
    powers: POWERS.map((powerShare) => ({
      powerShare,
      fromFullStops: stopsFromRatio(powerShare),
      apertureAtDistance: fNumberSetting(
        fNumberFromGuideNumber(guide, solved.distanceMetres, question.exactIso, powerShare),
      ),
      distanceAtApertureMetres: distanceFromGuideNumber(guide, solved.exactFNumber, question.exactIso, powerShare),
    })),
    cautions: planCautions({ light: 'flash', overhead: false }),
  };
}

interface Solved {
  solvedFor: GuideArithmetic['solvedFor'];
  distanceMetres: number;
  exactFNumber: number;
  powerShare: number;
}

function solve(guide: number, { exactIso, distanceMetres, exactFNumber, powerShare }: GuideQuestion): Solved {
  if (distanceMetres !== null && exactFNumber !== null) {
    return powerShare === null
      ? {
          solvedFor: 'power',
          distanceMetres,
          exactFNumber,
          powerShare: powerForGuideNumber(guide, exactFNumber, distanceMetres, exactIso),
        }
      : { solvedFor: 'difference', distanceMetres, exactFNumber, powerShare };
  }
  const power = powerShare ?? 1;
  if (distanceMetres !== null) {
    const aperture = fNumberFromGuideNumber(guide, distanceMetres, exactIso, power);
    return { solvedFor: 'aperture', distanceMetres, exactFNumber: aperture, powerShare: power };
  }
  if (exactFNumber !== null) {
    const distance = distanceFromGuideNumber(guide, exactFNumber, exactIso, power);
    return { solvedFor: 'distance', distanceMetres: distance, exactFNumber, powerShare: power };
  }
  throw new StopledgerError('bad-usage', 'plan guide: --distance, --aperture or both expected; received neither');
}
