import type { Unknown } from './known.js';

/** Two witnesses may differ by so much, and by this share of the change, and still agree. Ours. */
export const AGREEMENT = { stops: 0.25, shareOfChange: 0.25 } as const;
/** Bounds on the noise read from the set-up itself. Ours. */
export const NOISE_STOPS = { least: 0.04, most: 0.2, unread: 0.08, wholeFrame: 0.25 } as const;
/** Of so few frames none can tell that it, not the others, is the odd one against a steady wall. Ours. */
const LEAST_TO_CONTRADICT = 4;
/** A wall that is too dark to read tells a fall only when it lies under its usual level by more. Ours. */
const DARK_WALL_STOPS = -1;
/** A wall that changed by less before a steady face is no wonder of its own. Ours. */
const WALL_ALONE_STOPS = 0.75;

/** What one frame's subject says. */
export interface SubjectWord {
  stops: Unknown;
  /** Frames of this sitter that were compared; 0 when they do not agree among themselves. */
  companions: number;
  /** The sitter's own level was read from frames before a steady wall. */
  ownIsProper: boolean;
  /** True where no person was found and the whole frame had to stand for it. */
  wholeFrame: boolean;
}

/** What the witnesses of one frame's light come to. */
export interface Weighed {
  /** The change of the light on the subject, from what is known. */
  lightStops: Unknown;
  witnesses: 'both' | 'disagree' | 'subject' | 'wall' | 'none';
  /** Standard error of `lightStops`. */
  errorStops: number;
}

/** The wall's word: how its light changed, or at most was where it is too dark to read. */
interface WallWord {
  stops: Unknown;
  atMostStops: Unknown;
}

/**
 * The light of one frame from what its sitter and its wall say: both where they agree, the one that can be believed where
 * they do not.
 *
 * @param around the face against the frames around it, where no look-alike can be meant; see same-sitter-around.ts
 */
export function weighWitnesses(
  word: SubjectWord,
  around: Unknown,
  { stops: wall, atMostStops }: WallWord,
  subjectNoise: number,
  wallNoise: number,
): Weighed {
  const subject = word.stops;
  if (wall === null && atMostStops !== null && atMostStops < DARK_WALL_STOPS)
    return inTheDark(subject, atMostStops, subjectNoise);
  if (subject === null && wall === null) return { lightStops: null, witnesses: 'none', errorStops: NOISE_STOPS.most };
  if (wall === null) return { lightStops: subject, witnesses: 'subject', errorStops: subjectNoise };
  if (subject === null) return { lightStops: wall, witnesses: 'wall', errorStops: wallNoise };
  const allowed = allowedApart(subject, wall);
  if (Math.abs(subject - wall) > allowed) {
    const steady = word.ownIsProper && Math.abs(subject) <= AGREEMENT.stops && Math.abs(wall) >= WALL_ALONE_STOPS;
    if (steady || contradicts(word, subject, around))
      return { lightStops: subject, witnesses: 'disagree', errorStops: subjectNoise };
    return { lightStops: wall, witnesses: 'wall', errorStops: wallNoise };
  }
  // Where a look-alike cannot be ruled out the face is no witness, and the wall alone speaks.
  if (around === null) return { lightStops: wall, witnesses: 'wall', errorStops: wallNoise };
  const subjectWeight = wallNoise ** 2 / (subjectNoise ** 2 + wallNoise ** 2);
  return {
    lightStops: subjectWeight * subject + (1 - subjectWeight) * wall,
    witnesses: 'both',
    errorStops: 1 / Math.hypot(1 / subjectNoise, 1 / wallNoise),
  };
}

const allowedApart = (a: number, b: number): number =>
  AGREEMENT.stops + AGREEMENT.shareOfChange * Math.max(Math.abs(a), Math.abs(b));

/**
 * Whether a face that changed is believed against a wall that did not: no look-alike can be meant, and there are frames
 * enough. A face as in its other frames before a wall that changed needs neither: a look-alike would have to have just the
 * skin that makes up for the light.
 */
function contradicts(word: SubjectWord, subject: number, around: Unknown): boolean {
  return around !== null && word.companions >= LEAST_TO_CONTRADICT && Math.abs(subject - around) <= AGREEMENT.stops;
}

/** The wall is black: the light is what the subject says, unless that is above what a black wall allows. */
function inTheDark(subject: Unknown, atMostStops: number, subjectNoise: number): Weighed {
  if (subject === null) return { lightStops: atMostStops, witnesses: 'wall', errorStops: NOISE_STOPS.most };
  return subject <= atMostStops + allowedApart(subject, atMostStops)
    ? { lightStops: subject, witnesses: 'both', errorStops: subjectNoise }
    : { lightStops: subject, witnesses: 'subject', errorStops: subjectNoise };
}
