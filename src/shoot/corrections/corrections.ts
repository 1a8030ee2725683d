import type { Correction } from '../../contracts/correction.js';
import type { LookComparison } from '../../contracts/look.js';
import type { ShootPlan } from '../../contracts/plan.js';
import type { Lift } from '../../contracts/report.js';
import { CLIPPING_LIMITS } from '../causes/clipping.js';
import { rounded, type Unknown } from '../known.js';
import { totalOf, type FrameContext } from '../setup-state.js';
import { SEEN_DUV, colourText, percent, signedStops, stopsText } from '../wording.js';
import { CLIP_LEVEL_STOPS, LEAST_LIFT_STOPS, PEAK_OVER_MEAN_STOPS, faceAloneStops, liftsOf } from './lifts.js';
import { noiseLimitStops } from './noise-limit.js';

/** Less is below what a picture shows, and below what a wall's colour is known to. Ours. */
const LEAST_CAST_MIRED = 5;

/** What the frame is brought to: the frame that the user named, else the saved look, else its set-up. */
export interface Aims {
  /** Stops by which this frame stands over the reference frame; null without one, or where that cannot be said. */
  fromReferenceStops: Unknown;
  /** Mired by which it is warmer than the reference frame; null as above. */
  fromReferenceMired: Unknown;
  look: LookComparison | null;
}

export interface Corrected {
  corrections: Correction[];
  lifts: Lift[];
}

/**
 * All that brings a frame to where it should be, in linear light, in the order in which to do it. Level first, since
 * what is left of head-room and of what noise bears depends on it; then the colour, on the whole frame, at unchanged
 * luminance; then regions, which are measured against the face as it stands by then.
 */
export function correctionsOf(context: FrameContext, aims: Aims): Corrected {
  const level = levelStep(context, aims);
  const lifts = liftsOf(context, level?.stops ?? 0).map((lift) => ({ ...lift, stops: rounded(lift.stops) ?? 0 }));
  const steps = [level, castStep(context, aims)].filter((step) => step !== null);
  return { lifts, corrections: [...steps, ...lifts.map(liftStep)] };
}

interface Aim {
  toward: Correction['toward'];
  name: string;
  /** To add to the subject. */
  amount: number;
}

function levelAim(context: FrameContext, { fromReferenceStops, look }: Aims): Aim | null {
  const { light, setup, plan } = context;
  if (fromReferenceStops !== null)
    return { toward: 'reference', name: nameOfReference(plan), amount: -fromReferenceStops };
  // Only what skin cannot explain is corrected away: a look is no target for skin.
  if (look?.level?.verdict === 'off' && light.levelStops !== null)
    return { toward: 'look', name: `the look "${look.look}"`, amount: -light.levelStops - look.level.differenceStops };
  const { levelStops } = totalOf(context);
  return levelStops === null ? null : { toward: 'set-up', name: setup.id, amount: -levelStops };
}

function levelStep(context: FrameContext, aims: Aims): Correction | null {
  const aim = levelAim(context, aims);
  if (aim === null) return null;
  // What the face alone is darker by is raised there, and not in the whole frame.
  const wanted = aim.amount - faceAloneStops(context);
  if (Math.abs(wanted) < LEAST_LIFT_STOPS) return null;
  const { stops, limitedBy } = limitedLevel(context, wanted);
  const lost = context.frame.facts.measurement.clipping.highlights.inFacesShare ?? 0;
  const told = limitedBy === null ? '' : `; held to that by ${limitedBy}, ${signedStops(wanted)} would bring it there`;
  const clipped =
    stops < 0 && lost > CLIPPING_LIMITS.face.checkShare
      ? `; ${percent(lost)} of the face is clipped and stays without detail`
      : '';
  return {
    step: 'level',
    region: 'frame',
    stops: rounded(stops),
    mired: null,
    duv: null,
    toward: aim.toward,
    limitedBy,
    because: `${stops < 0 ? 'Darken' : 'Brighten'} by ${stopsText(stops)} to match ${aim.name}${told}${clipped}.`,
  };
}

/** Brightening stops where noise shows; and, past what its own set-up holds, before the face clips. */
function limitedLevel(context: FrameContext, wanted: number): Pick<Correction, 'limitedBy'> & { stops: number } {
  if (wanted <= 0) return { stops: wanted, limitedBy: null };
  const { facts } = context.frame;
  const toSetup = Math.max(0, -(totalOf(context).levelStops ?? 0));
  const bright = facts.main?.face?.brightSideLevelStops ?? facts.subjectLevelStops;
  const headRoom = bright === null ? Infinity : CLIP_LEVEL_STOPS - PEAK_OVER_MEAN_STOPS - bright;
  const clipping = Math.max(toSetup, headRoom);
  const noise = noiseLimitStops(facts, facts.subjectLevelStops);
  const stops = Math.min(wanted, clipping, noise);
  return { stops, limitedBy: stops >= wanted ? null : clipping <= noise ? 'clipping' : 'noise' };
}

interface CastAim {
  toward: Correction['toward'];
  name: string;
  /** How much warmer, and greener, the frame is than that. */
  mired: number;
  duv: Unknown;
}

function castAim(
  { cast, setup, plan }: FrameContext,
  { fromReferenceStops, fromReferenceMired, look }: Aims,
): CastAim | null {
  if (cast.mired === null) return null;
  if (fromReferenceStops !== null && fromReferenceMired !== null)
    return { toward: 'reference', name: nameOfReference(plan), mired: fromReferenceMired, duv: null };
  if (look?.cast && look.cast.verdict !== 'within')
    return {
      toward: 'look',
      name: `the look "${look.look}"`,
      mired: cast.mired + look.cast.differenceMired,
      duv: addKnown(cast.duv, look.cast.differenceDuv),
    };
  return { toward: 'set-up', name: setup.id, mired: cast.mired, duv: cast.duv };
}

function castStep(context: FrameContext, aims: Aims): Correction | null {
  const aim = castAim(context, aims);
  if (aim === null) return null;
  const mired = -aim.mired;
  const duv = aim.duv === null || Math.abs(aim.duv) < SEEN_DUV ? null : -aim.duv;
  if (Math.abs(mired) < Math.max(LEAST_CAST_MIRED, context.cast.spreadMired) && duv === null) return null;
  return {
    step: 'cast',
    region: 'frame',
    stops: null,
    mired: rounded(mired, 1),
    duv: rounded(duv, 4),
    toward: aim.toward,
    limitedBy: null,
    because: `Make it ${colourText(mired, duv)} to match ${aim.name}, its luminance unchanged.`,
  };
}

const nameOfReference = (plan: ShootPlan): string => plan.referenceFrame ?? 'the reference frame';

const addKnown = (a: Unknown, b: Unknown): Unknown => (a === null || b === null ? null : a + b);

function liftStep({ region, stops, limitedBy, because }: Lift): Correction {
  return { step: 'lift', region, stops, mired: null, duv: null, toward: 'face', limitedBy, because };
}
