import type { SubjectBasis } from './facts.js';
import { difference, medianKnown, middleOf, spreadKnown, type Unknown } from './known.js';
import type { SequenceFrame } from './sequence.js';
import { wallLightsByCrop } from './wall-by-crop.js';

/** How one frame's light stands to its set-up's, and who says so. Positive: brighter. */
export interface FrameLight {
  /** What this frame's settings do against the set-up's usual ones. */
  settingsStops: number;
  settingsKnown: boolean;
  /** The wall's word on the light, settings removed. */
  wallStops: Unknown;
  /** The subject's word, against the same sitter's other frames, settings removed. */
  subjectStops: Unknown;
  /** The change of the light on the subject, from what is known. */
  lightStops: Unknown;
  /** Settings and light together: how much brighter the subject came out. */
  levelStops: Unknown;
  witnesses: 'both' | 'disagree' | 'subject' | 'wall' | 'none';
  /** Standard error of `lightStops`. */
  errorStops: number;
}

/** Within this of its set-up's wall level a frame is taken as properly lit when sitters are learned. Ours. */
const PROPER_STOPS = 0.2;
/** Two witnesses may differ by so much, and by this share of the change, and still agree. Ours. */
const AGREEMENT = { stops: 0.25, shareOfChange: 0.25 } as const;
/** Half of the smallest step of a dial. */
const TOUCHED_STOPS = 1 / 6;
/** Bounds on the noise read from the set-up itself. Ours. */
const NOISE_STOPS = { least: 0.04, most: 0.2, unread: 0.08, wholeFrame: 0.25 } as const;

/** Judges every frame of one set-up against the set-up. */
export function lightsOf(frames: readonly SequenceFrame[]): FrameLight[] {
  const usualSettings = middleOf(frames, (frame) => frame.settingsStops) ?? 0;
  const walls = wallLightsByCrop(frames);
  const usualWall = medianKnown(walls);
  const wall = walls.map((stops) => difference(stops, usualWall));
  const subject = subjectAgainstOwn(frames, wall);
  const darkWall = frames.map(({ facts, settingsStops, driftStops }) =>
    difference(difference(facts.darkBackgroundAtMostStops, usualWall), settingsStops + driftStops),
  );
  const wallNoise = noiseOf(wall);
  const subjectNoise = noiseOf(subject.map((word) => word.stops));
  return frames.map((frame, i) => {
    const word = subject[i] as SubjectWord;
    const settingsStops = frame.settingsStops - usualSettings;
    const unsure =
      frame.faceAgainstAroundStops === null && !word.wholeFrame && Math.abs(settingsStops) >= TOUCHED_STOPS;
    const combined = combine(
      // Settings that were touched tell enough; a face that may be another's would be taken for their light.
      unsure ? { ...word, stops: (wall[i] ?? null) === null ? null : word.stops, ownIsProper: false } : word,
      frame.faceAgainstAroundStops,
      { stops: wall[i] ?? null, atMostStops: darkWall[i] ?? null },
      word.wholeFrame ? NOISE_STOPS.wholeFrame : subjectNoise,
      wallNoise,
    );
    return {
      settingsStops,
      settingsKnown: frame.settingsKnown,
      wallStops: wall[i] ?? null,
      subjectStops: word.stops,
      levelStops: combined.lightStops === null ? null : combined.lightStops + settingsStops,
      ...combined,
    };
  });
}

function noiseOf(values: readonly Unknown[]): number {
  const spread = values.filter((value) => value !== null).length < 5 ? null : spreadKnown(values);
  return Math.min(NOISE_STOPS.most, Math.max(NOISE_STOPS.least, spread ?? NOISE_STOPS.unread));
}

interface SubjectWord {
  stops: Unknown;
  /** Frames of this sitter that were compared; 0 when they do not agree among themselves. */
  companions: number;
  /** The sitter's own level was read from frames before a steady wall. */
  ownIsProper: boolean;
  /** True where no person was found and the whole frame had to stand for it. */
  wholeFrame: boolean;
}

const NO_WORD: SubjectWord = { stops: null, companions: 0, ownIsProper: false, wholeFrame: false };

function subjectAgainstOwn(frames: readonly SequenceFrame[], wall: readonly Unknown[]): SubjectWord[] {
  const words: SubjectWord[] = frames.map(() => ({ ...NO_WORD }));
  const bySitter = new Map<number, number[]>();
  frames.forEach((frame, i) => {
    const members = bySitter.get(frame.sitter);
    if (members === undefined) bySitter.set(frame.sitter, [i]);
    else members.push(i);
  });
  for (const members of bySitter.values())
    for (const basis of ['face', 'body'] as const) fill(words, members, frames, wall, basis);
  const everyone = frames.map((_, i) => i);
  const before = words.map((word) => word.stops);
  if (before.some((stops, i) => stops === null && wall[i] === null)) {
    const whole: SubjectWord[] = frames.map(() => ({ ...NO_WORD, wholeFrame: true }));
    fill(whole, everyone, frames, wall, 'frame');
    before.forEach((stops, i) => {
      const { basis, darkBackgroundAtMostStops } = (frames[i] as SequenceFrame).facts;
      const frameTells = basis === 'frame' || darkBackgroundAtMostStops !== null;
      if (stops === null && wall[i] === null && frameTells) words[i] = whole[i] as SubjectWord;
    });
  }
  return words;
}

/** Gives each of the members that has this basis, and at least one companion, its difference to the sitter's own level. */
function fill(
  words: SubjectWord[],
  members: readonly number[],
  frames: readonly SequenceFrame[],
  wall: readonly Unknown[],
  basis: SubjectBasis,
): void {
  const lights: { i: number; stops: number; wall: Unknown }[] = [];
  for (const i of members) {
    const frame = frames[i] as SequenceFrame;
    const level = frame.facts.levels[basis];
    if (level !== null)
      lights.push({ i, stops: level - frame.settingsStops - frame.driftStops, wall: wall[i] ?? null });
  }
  if (lights.length < 2) return;
  const proper = lights.filter((light) => light.wall !== null && Math.abs(light.wall) <= PROPER_STOPS);
  // Where the wall says that no frame of this sitter is properly lit, its word is taken out first.
  const own = medianKnown(
    proper.length > 0 ? proper.map((light) => light.stops) : lights.map((light) => light.stops - (light.wall ?? 0)),
  );
  const near = lights.filter((light) => Math.abs(light.stops - (light.wall ?? 0) - (own ?? 0)) <= AGREEMENT.stops);
  const united = near.length >= UNITED_SHARE * lights.length;
  for (const light of lights) {
    const word = words[light.i] as SubjectWord;
    if (word.stops !== null || own === null) continue;
    word.stops = light.stops - own;
    word.companions = united ? lights.length : 0;
    word.ownIsProper = proper.length > 0;
  }
}

/** Where fewer of a sitter's frames agree on a level, they are two people. Ours. */
const UNITED_SHARE = 0.65;
/** Of so few frames none can tell that it, not the others, is the odd one against a steady wall. Ours. */
const LEAST_TO_CONTRADICT = 4;
/** A wall that is too dark to read tells a fall only when it lies under its usual level by more. Ours. */
const DARK_WALL_STOPS = -1;

/** A wall that changed by less before a steady face is no wonder of its own. Ours. */
const WALL_ALONE_STOPS = 0.75;

type Combined = Pick<FrameLight, 'lightStops' | 'witnesses' | 'errorStops'>;

/** The wall's word: how its light changed, or at most was where it is too dark to read. */
interface WallWord {
  stops: Unknown;
  atMostStops: Unknown;
}

function combine(
  word: SubjectWord,
  around: Unknown,
  { stops: wall, atMostStops }: WallWord,
  subjectNoise: number,
  wallNoise: number,
): Combined {
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
function inTheDark(subject: Unknown, atMostStops: number, subjectNoise: number): Combined {
  if (subject === null) return { lightStops: atMostStops, witnesses: 'wall', errorStops: NOISE_STOPS.most };
  return subject <= atMostStops + allowedApart(subject, atMostStops)
    ? { lightStops: subject, witnesses: 'both', errorStops: subjectNoise }
    : { lightStops: subject, witnesses: 'subject', errorStops: subjectNoise };
}
