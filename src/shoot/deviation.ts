import type { SubjectBasis } from './facts.js';
import { difference, medianKnown, middleOf, spreadKnown, type Unknown } from './known.js';
import type { SequenceFrame } from './sequence.js';
import { wallLightsByCrop } from './wall-by-crop.js';
import { AGREEMENT, NOISE_STOPS, weighWitnesses, type SubjectWord, type Weighed } from './witnesses.js';

/** How one frame's light stands to its set-up's, and who says so. Positive: brighter. */
export interface FrameLight extends Weighed {
  /** What this frame's settings do against the set-up's usual ones. */
  settingsStops: number;
  settingsKnown: boolean;
  /** The wall's word on the light, settings removed. */
  wallStops: Unknown;
  /** The subject's word, against the same sitter's other frames, settings removed. */
  subjectStops: Unknown;
  /** Settings and light together: how much brighter the subject came out. */
  levelStops: Unknown;
}

/** Within this of its set-up's wall level a frame is taken as properly lit when sitters are learned. Ours. */
const PROPER_STOPS = 0.2;
/** Half of the smallest step of a dial. */
const TOUCHED_STOPS = 1 / 6;

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
    const combined = weighWitnesses(
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
