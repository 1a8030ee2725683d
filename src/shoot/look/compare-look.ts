import type {
  LookComparison,
  LookFigures,
  LookVerdict,
  SavedLook,
  StopsAgainstLook,
  StopsFigure,
} from '../../contracts/look.js';
import type { ShootPlan } from '../../contracts/plan.js';
import type { ToneResponse } from '../../contracts/tone.js';
import { thirdStopSteps } from '../../photometry/stops.js';
import { sittersOf } from '../baseline.js';
import { CAST_LIMITS } from '../causes/cast.js';
import { rounded } from '../known.js';
import type { SetupState } from '../setup-state.js';
import { figuresOf } from './figures.js';
import { lookSentences } from './look-words.js';

/*
 * A set-up against a saved look. Other people stand there on another day, and skin is never a target: what a figure
 * may owe to skin widens its uncertainty, by the number of sitters on both sides. The wall has no skin, so where it
 * says the same as the subject the level is known better.
 */

/** Robust spread of face level between sitters under one light, from pale to deep. Ours; skin luminance spans some 2.3 stops. */
const SKIN_BETWEEN_SITTERS_STOPS = 0.55;
/** Face and leg skin of one sitter differ by about this (inference from site-by-site skin tables). */
const FACE_TO_LEG_SKIN_STOPS = 0.3;
/** Pose moves one sitter's side-to-side by so much. Ours. */
const POSE_STOPS = 0.3;
/** Subject and wall within this say the same of the level. Ours. */
const AGREEMENT_STOPS = 0.3;
/** Of a level that both say. Ours. */
const BOTH_SAY_STOPS = 0.15;
/** Contrast that a photographer calls the same. Ours. */
const CONTRAST_TOLERANCE_STOPS = 0.5;
/** Framing moves the wall that is seen. As in causes/regions.ts. */
const BACKGROUND_TOLERANCES = 1.5;

interface Today {
  figures: LookFigures;
  sitters: number | null;
  light: 'flash' | 'continuous';
  toneResponse: ToneResponse | null;
}

/** A set-up against the plan's look; null where the plan holds none. */
export function lookOfSetup(setup: SetupState, plan: ShootPlan, light: 'flash' | 'continuous'): LookComparison | null {
  if (plan.look === undefined) return null;
  const sitters = plan.compareSitters === false ? 0 : sittersOf(setup).length;
  const today: Today = {
    figures: figuresOf(setup.frames),
    sitters: sitters === 0 ? null : sitters,
    light,
    toneResponse: setup.frames[0]?.facts.measurement.toneResponse ?? null,
  };
  return compareLook(today, plan.look, plan);
}

/** How far today's set-up is from the look, figure by figure, and what to change. */
function compareLook(today: Today, look: SavedLook, plan: ShootPlan): LookComparison {
  const tolerance = plan.toleranceStops;
  const people = Math.hypot(1 / Math.sqrt(today.sitters ?? 1), 1 / Math.sqrt(look.sitters ?? 1));
  const perStop = Math.hypot(today.toneResponse?.uncertaintyStops ?? 0, worstResponse(look));
  const one = (key: StopsKey, allowed: number, ownStops: number): StopsAgainstLook | null =>
    against(today.figures[key], look.figures[key], allowed, ownStops, perStop);

  const skin = SKIN_BETWEEN_SITTERS_STOPS * people;
  const wall = one('backgroundLevel', tolerance, 0.1);
  const level = levelAgainst(one('subjectLevel', tolerance, skin), wall, tolerance);
  const contrast = one('sideToSide', CONTRAST_TOLERANCE_STOPS, POSE_STOPS * people);
  const background = one('personToBackground', BACKGROUND_TOLERANCES * tolerance, skin);
  const fallOff = one('faceToLowerBodyLight', tolerance, FACE_TO_LEG_SKIN_STOPS * people);
  const cast = castAgainst(today, look);
  const verdict = worst([level, contrast, background, fallOff, cast].flatMap((part) => part?.verdict ?? []));
  const lightSteps = stepsFor(level, 1);
  const backgroundSteps = stepsFor(background, -1);
  return {
    look: look.name,
    verdict,
    level,
    contrast,
    background,
    fallOff,
    cast,
    lightThirdStopSteps: lightSteps,
    backgroundThirdStopSteps: backgroundSteps,
    correctionMired: cast === null ? null : rounded(-cast.differenceMired, 1),
    because: lookSentences(look, today.toneResponse, { level, contrast, background, fallOff, cast }, perStop),
  };
}

type StopsKey = 'subjectLevel' | 'backgroundLevel' | 'personToBackground' | 'sideToSide' | 'faceToLowerBodyLight';

const worstResponse = (look: SavedLook): number =>
  look.toneResponses.reduce((most, { uncertaintyStops }) => Math.max(most, uncertaintyStops), 0);

function verdictOf(differenceStops: number, tolerance: number, uncertainty: number): LookVerdict {
  const size = Math.abs(differenceStops);
  if (size > tolerance + uncertainty) return 'off';
  return size > tolerance ? 'check' : 'within';
}

function against(
  today: StopsFigure | null,
  look: StopsFigure | null,
  tolerance: number,
  ownStops: number,
  perStop: number,
): StopsAgainstLook | null {
  if (today === null || look === null) return null;
  const difference = today.medianStops - look.medianStops;
  const uncertainty = Math.hypot(ownStops, perStop * Math.abs(difference), errorOf(today), errorOf(look));
  return {
    todayStops: today.medianStops,
    lookStops: look.medianStops,
    differenceStops: rounded(difference) ?? 0,
    uncertaintyStops: rounded(uncertainty) ?? 0,
    verdict: verdictOf(difference, tolerance, uncertainty),
  };
}

/** Standard error of a median, taken as that of a mean of half as many. */
const errorOf = ({ spreadStops, frames }: StopsFigure): number =>
  (spreadStops ?? 0) / Math.sqrt(Math.max(1, frames / 2));

/** Where the wall says the same, skin is no excuse; where the wall stands as it stood, skin may be all of it. */
function levelAgainst(
  subject: StopsAgainstLook | null,
  wall: StopsAgainstLook | null,
  tolerance: number,
): StopsAgainstLook | null {
  if (subject === null || wall === null) return subject;
  if (Math.abs(subject.differenceStops - wall.differenceStops) <= AGREEMENT_STOPS) {
    const difference = (subject.differenceStops + wall.differenceStops) / 2;
    const uncertainty = Math.hypot(BOTH_SAY_STOPS, wall.uncertaintyStops);
    return {
      ...subject,
      differenceStops: rounded(difference) ?? 0,
      uncertaintyStops: rounded(uncertainty) ?? 0,
      verdict: verdictOf(difference, tolerance, uncertainty),
    };
  }
  return subject.verdict === 'off' && wall.verdict === 'within' ? { ...subject, verdict: 'check' } : subject;
}

function castAgainst(today: Today, look: SavedLook): LookComparison['cast'] {
  const [now, then] = [today.figures.castMired, look.figures.castMired];
  if (now === null || then === null) return null;
  const mired = now.medianMired - then.medianMired;
  const [nowDuv, thenDuv] = [today.figures.castDuv, look.figures.castDuv];
  const duv = nowDuv === null || thenDuv === null ? null : nowDuv.medianDuv - thenDuv.medianDuv;
  const limits = CAST_LIMITS[today.light];
  const size = Math.abs(mired);
  const off = size > limits.faultMired || Math.abs(duv ?? 0) > CAST_LIMITS.faultDuv;
  const looked = size > limits.checkMired || Math.abs(duv ?? 0) > CAST_LIMITS.checkDuv;
  return {
    differenceMired: rounded(mired, 1) ?? 0,
    differenceDuv: rounded(duv, 4),
    verdict: off ? 'off' : looked ? 'check' : 'within',
  };
}

const BADNESS: Record<LookVerdict, number> = { within: 0, check: 1, off: 2 };

function worst(verdicts: readonly LookVerdict[]): LookVerdict | null {
  return verdicts.reduce<LookVerdict | null>(
    (sum, verdict) => (sum === null || BADNESS[verdict] > BADNESS[sum] ? verdict : sum),
    null,
  );
}

/** Third-stop steps that bring a figure back; 0 where it is within. `sense` -1: the figure falls as the light is turned up. */
function stepsFor(part: StopsAgainstLook | null, sense: 1 | -1): number | null {
  if (part === null) return null;
  return part.verdict === 'within' ? 0 : thirdStopSteps(-sense * part.differenceStops) + 0;
}
