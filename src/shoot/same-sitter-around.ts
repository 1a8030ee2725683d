import { appearanceDistance, looksInFraming, medianAppearance } from './appearance.js';
import type { AppearanceFacts } from './facts.js';
import type { SeenFrame } from './group-sitters.js';
import { difference, medianOf, type Unknown } from './known.js';

/** Frames on each side that are asked, and how many of them must be the same sitter's. Ours. */
const AROUND = { frames: 3, least: 2 } as const;
/** What those frames may differ by before and after, in the face or in the face against the wall. Ours. */
const AGREE_STOPS = 0.2;
/** How alike the frame must look to them; see appearance.ts. Ours. */
const ALIKE = 1.2;
/** Frames on each side among which those framed alike are looked for. Ours. */
const FRAMED_FRAMES = 8;
/** Under one light, minutes apart, one skin's colour is nearer than what tells sitters apart over a set-up. Ours. */
const SKIN_ALIKE = { logRg: 0.1, logBg: 0.13 } as const;

/**
 * Light on the face in the frames around each frame, where those and this one surely show one sitter: the same sitter
 * stands in most frames right before and right after, alike on both sides, and this frame looks the same but for its
 * level. Null anywhere else: a look-alike with another skin cannot be ruled out there, so the face is no witness against a
 * steady wall.
 *
 * @param sitters sitter number of each frame, as groupSitters gives them
 */
export function faceAround(frames: readonly SeenFrame[], sitters: readonly number[]): Unknown[] {
  return frames.map((frame, i) => {
    const before = alikeOn(frames, sitters, i, -1);
    const after = alikeOn(frames, sitters, i, 1);
    if (before.length < AROUND.least || after.length < AROUND.least) return null;
    if (!agree(faceToWall(before), faceToWall(after)) && !agree(face(before), face(after))) return null;
    const around = [...before, ...after];
    if (!united(around, (other) => other.faceLightStops) && !united(around, faceOverWall)) return null;
    const alike = looksTheSame(frame.appearance, medianAppearance(around)) || asInLikeFraming(frames, sitters, i);
    return alike ? face(around) : null;
  });
}

function looksTheSame(a: AppearanceFacts, b: AppearanceFacts): boolean {
  const distance = appearanceDistance(a, b);
  return distance !== null && distance <= ALIKE;
}

/** A close crop shows a collar, a full length a coat: the sitter's frames nearby that are framed like this one tell better. */
function asInLikeFraming(frames: readonly SeenFrame[], sitters: readonly number[], at: number): boolean {
  const { appearance } = frames[at] as SeenFrame;
  const from = Math.max(0, at - FRAMED_FRAMES);
  const nearby = frames
    .slice(from, at + FRAMED_FRAMES + 1)
    .filter((_, k) => from + k !== at && sitters[from + k] === sitters[at]);
  const look = looksInFraming(nearby, appearance.cropLog2);
  return look !== null && looksTheSame(appearance, look);
}

function skinAlike(a: AppearanceFacts, b: AppearanceFacts): boolean {
  return (
    Math.abs(difference(a.skinLogRg, b.skinLogRg) ?? 0) <= SKIN_ALIKE.logRg &&
    Math.abs(difference(a.skinLogBg, b.skinLogBg) ?? 0) <= SKIN_ALIKE.logBg
  );
}

function alikeOn(frames: readonly SeenFrame[], sitters: readonly number[], at: number, step: 1 | -1): SeenFrame[] {
  const now = frames[at] as SeenFrame;
  const alike: SeenFrame[] = [];
  for (let k = 1; k <= AROUND.frames; k++) {
    const other = frames[at + step * k];
    if (other !== undefined && sitters[at + step * k] === sitters[at] && skinAlike(now.appearance, other.appearance))
      alike.push(other);
  }
  return alike;
}

const agree = (a: Unknown, b: Unknown): boolean => Math.abs(difference(a, b) ?? Infinity) <= AGREE_STOPS;

const face = (frames: readonly SeenFrame[]): Unknown => medianOf(frames, (frame) => frame.faceLightStops);

/** All but one of the frames around agree: where two faces come and go, none is the usual one. */
function united(frames: readonly SeenFrame[], read: (frame: SeenFrame) => Unknown): boolean {
  const usual = medianOf(frames, read);
  return frames.filter((frame) => !agree(read(frame), usual)).length <= 1;
}

const faceOverWall = (frame: SeenFrame): Unknown => difference(frame.faceLightStops, frame.wallLightStops);

const faceToWall = (frames: readonly SeenFrame[]): Unknown => medianOf(frames, faceOverWall);
