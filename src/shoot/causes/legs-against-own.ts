import type { Flag } from '../../contracts/report.js';
import { appearanceDistance, medianAppearance } from '../appearance.js';
import type { AppearanceFacts } from '../facts.js';
import { difference, medianKnown, type Unknown } from '../known.js';
import type { SequenceFrame } from '../sequence.js';
import type { FrameContext } from '../setup-state.js';
import { severityOf } from '../severity.js';
import { stopsText } from '../wording.js';

/** How far the same legs scatter against the face by pose. Ours. */
const ERROR_STOPS = 0.15;
/** Legs that stand within this of one another against the face are lit alike. Ours. */
const ALIKE_STOPS = 0.4;
/** Frames with the legs as usual that are needed: one alone may be the odd one. Ours. */
const LEAST_USUAL = 2;
/** The sitter's frames on each side that tell how they look at the moment, and how many are needed. Ours. */
const LOOK = { frames: 4, least: 3 } as const;
/**
 * How alike those looks must be, and the two frames themselves; see appearance.ts. Narrower than what makes a
 * sitter: two people who pass for one may well wear other trousers. Ours.
 */
const SURELY_SAME = { looks: 0.55, frame: 1.1 } as const;
/** Faces that stand further apart in one light are two people's. Ours. */
const FACES_ALIKE_STOPS = 0.25;

/**
 * The lower body against the face where only cloth shows, or where skin tells no fall of the light: darker than in the
 * same sitter's other frames of the set-up, since cloth by itself says nothing of the light.
 */
export function legsAgainstOwn(context: FrameContext): Flag[] {
  const { frame, setup, plan } = context;
  const usual = usualLegs(context);
  const moved = difference(legsOf(frame), usual);
  if (moved === null || !tells(moved, context)) return [];
  return [
    {
      code: 'lower-body-dark',
      // Somebody who only looks alike may wear other trousers, so it is never more than worth a look.
      severity: 'check',
      stops: moved,
      region: 'lower-body',
      because: `The lower body is ${stopsText(moved)} darker against the face than in this sitter's other frames of ${setup.id}, clothes and skin being the same (looked at from ${(1.5 * plan.toleranceStops).toFixed(2)}).`,
    },
  ];
}

const within = (limit: number, distance: Unknown): boolean => distance !== null && distance <= limit;

const legsOf = ({ facts }: SequenceFrame): Unknown => facts.main?.faceToLowerBodyStops ?? null;

const tells = (moved: number, { plan, frame }: FrameContext): boolean =>
  moved > 0 &&
  severityOf(moved, 1.5 * plan.toleranceStops, frame.facts.uncertaintyPerStop, ERROR_STOPS, 'one') !== null;

/** Face to lower body of this sitter with the legs lit as usual; null where too few frames surely show the same sitter so. */
function usualLegs(context: FrameContext): Unknown {
  const { frame, setup, index } = context;
  const now = legsOf(frame);
  if (now === null) return null;
  const { basis } = frame.facts.main ?? {};
  const others = setup.frames.flatMap((other, i) => {
    const legs = legsOf(other);
    return i === index || legs === null || other.sitter !== frame.sitter || other.facts.main?.basis !== basis
      ? []
      : [{ i, legs }];
  });
  // Most frames differ from none of the others, and need no closer look.
  if (!others.some(({ legs }) => tells(now - legs, context))) return null;
  const look = lookAt(setup.frames, index);
  if (look === null) return null;
  const same = others.filter(({ i }) => {
    const other = setup.frames[i] as SequenceFrame;
    const looksAlike = within(SURELY_SAME.frame, appearanceDistance(frame.facts.appearance, other.facts.appearance));
    const theirs = looksAlike && facesAlike(frame, other) ? lookAt(setup.frames, i) : null;
    return theirs !== null && within(SURELY_SAME.looks, appearanceDistance(look, theirs));
  });
  const brightest = Math.min(...same.map(({ legs }) => legs));
  const lit = same.filter(({ legs }) => legs - brightest <= ALIKE_STOPS);
  const asDark = same.filter(({ legs }) => Math.abs(legs - now) <= ALIKE_STOPS);
  return lit.length < LEAST_USUAL || asDark.length > lit.length ? null : medianKnown(lit.map(({ legs }) => legs));
}

/** One skin before one wall; where the wall cannot be read, in one light. */
function facesAlike(a: SequenceFrame, b: SequenceFrame): boolean {
  const overWall = difference(faceOverWall(a), faceOverWall(b));
  const apart = overWall ?? difference(a.subjectLightStops, b.subjectLightStops);
  return apart !== null && Math.abs(apart) <= FACES_ALIKE_STOPS;
}

const faceOverWall = ({ subjectLightStops, wallLightStops }: SequenceFrame): Unknown =>
  difference(subjectLightStops, wallLightStops);

/** How the sitter looks in the frames around a place, in medians. */
function lookAt(frames: readonly SequenceFrame[], at: number): AppearanceFacts | null {
  const { sitter } = frames[at] as SequenceFrame;
  const around = frames.slice(Math.max(0, at - LOOK.frames), at + LOOK.frames + 1);
  const own = around.filter((frame) => frame.sitter === sitter).map(({ facts }) => facts);
  return own.length < LOOK.least ? null : medianAppearance(own);
}
