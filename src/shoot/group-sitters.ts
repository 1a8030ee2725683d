import { SCALES, appearanceDistance, looksInFraming, medianAppearance } from './appearance.js';
import type { AppearanceFacts } from './facts.js';
import { difference, medianOf, type Unknown } from './known.js';

/** Largest scaled difference up to which a frame goes on a run. Ours. */
const SAME_RUN = 2;
/** Between the medians of two runs, which are steadier. Ours. */
const SAME_SITTER = 0.9;
/** Two runs whose subjects stand further apart, the wall's light taken out, are two people whatever they wear. Ours. */
const SAME_LEVEL_STOPS = 0.2;
/** How many of the latest sitters a run is compared with; keeps long shoots linear. */
const SITTERS_REMEMBERED = 30;

/** One frame as this file sees it: levels with the settings taken out. */
export interface SeenFrame {
  appearance: AppearanceFacts;
  faceLightStops: Unknown;
  wallLightStops: Unknown;
}

interface Sitter {
  id: number;
  appearance: AppearanceFacts;
  faceToWallStops: Unknown;
}

/**
 * Sitter number of each frame, in order: runs of frames that look alike, then runs that look alike and stand
 * alike before the wall. One or two odd frames inside a run belong to it.
 *
 * @param grouping off: every frame stands alone
 */
export function groupSitters(frames: readonly SeenFrame[], grouping: boolean): number[] {
  if (!grouping) return frames.map((_, i) => i);
  const sitters: number[] = [];
  const remembered: Sitter[] = [];
  let nextId = 0;
  for (const [start, end] of runsOf(frames)) {
    const run = frames.slice(start, end);
    const seen: Sitter = {
      id: nextId,
      appearance: medianAppearance(run),
      faceToWallStops: medianOf(run, (frame) => difference(frame.faceLightStops, frame.wallLightStops)),
    };
    const known = remembered.find((sitter) => isSame(sitter, seen));
    for (let i = start; i < end; i++) sitters.push(known?.id ?? nextId);
    if (known !== undefined) continue;
    nextId++;
    remembered.unshift(seen);
    if (remembered.length > SITTERS_REMEMBERED) remembered.pop();
  }
  return sitters;
}

function isSame(a: Sitter, b: Sitter): boolean {
  const distance = appearanceDistance(a.appearance, b.appearance);
  if (distance === null || distance > SAME_SITTER) return false;
  const apart = difference(a.faceToWallStops, b.faceToWallStops);
  return apart !== null && Math.abs(apart) <= SAME_LEVEL_STOPS;
}

/** Start (included) and end (not included) of each run. */
function runsOf(frames: readonly SeenFrame[]): [number, number][] {
  const runs: [number, number][] = [];
  let start = 0;
  while (start < frames.length) {
    let end = start + 1;
    let summary = summaryOf(frames, start, end);
    while (end < frames.length && goesOn(frames, summary, end, end - start)) {
      end++;
      if (end - start <= RUN_MEMORY || (end - start) % REFRESH_EVERY === 0) summary = summaryOf(frames, start, end);
    }
    runs.push([start, end]);
    start = end;
  }
  return runs;
}

/** Frames of a run that the next one is compared with, and frames ahead that speak for a lasting step. */
const RUN_MEMORY = 9;
/** A long run's medians are taken anew after so many frames. */
const REFRESH_EVERY = 4;
/** One or two frames are odd ones, three are a step. */
const ODD_FRAMES = 2;
/** An odd frame whose wall moved by so much is odd in light, whoever it looks like. Ours. */
const WALL_MOVED_STOPS = 0.3;
/** A face that steps against the wall by so much is other skin or other light. Ours. */
const FACE_STEP_STOPS = 0.35;
/** 1.5 times nearer to a light is 1.2 stops by the inverse square; the rest is scatter. */
const MOST_MOVED_STOPS = 1.4;
/** A single odd face between frames of one sitter, nearer than most of that sitter's own scatter. Ours. */
const ODD_BUT_SAME = 1.2;
/** A sitter must have been seen this often before an odd face may be theirs. Ours. */
const LEAST_KNOWN = 3;
/** Only medians this near say that it is the same sitter in other light. Ours. */
const SURELY_SAME = 0.45;
/** A face turned away loses so much against the chest; more is another face. Ours. */
const ODD_SHADE_STOPS = 0.7;
const CLOTHES = ['torsoMinusSkinLogRg', 'torsoMinusSkinLogBg'] as const;

/** A run's latest frames, in medians. */
interface RunSummary {
  appearance: AppearanceFacts;
  faceLightStops: Unknown;
  wallLightStops: Unknown;
}

function summaryOf(frames: readonly SeenFrame[], start: number, end: number): RunSummary {
  const recent = frames.slice(Math.max(start, end - RUN_MEMORY), end);
  return {
    appearance: medianAppearance(recent),
    faceLightStops: medianOf(recent, (frame) => frame.faceLightStops),
    wallLightStops: medianOf(recent, (frame) => frame.wallLightStops),
  };
}

/** Whether the frame at `at` continues the run: it looks like it, or is one or two odd frames inside it. */
function goesOn(frames: readonly SeenFrame[], summary: RunSummary, at: number, known: number): boolean {
  const { appearance: run, faceLightStops: face, wallLightStops: wall } = summary;
  const now = frames[at] as SeenFrame;
  const ahead = frames.slice(at + 1, at + 1 + ODD_FRAMES);
  const fits = (frame: SeenFrame): boolean => looksLike(run, frame) && !faceStepped(frame, face, wall);
  if (fits(now)) return true;
  if (!canHaveMoved(now, face, wall)) return false;
  if (looksLike(run, now))
    return (
      (known >= LEAST_KNOWN &&
        ahead.some(fits) &&
        likeEnough(run, frames.slice(at - Math.min(known, RUN_MEMORY), at), now)) ||
      isSameInOtherLight(summary, frames.slice(at - Math.min(known, RUN_MEMORY), at + RUN_MEMORY))
    );
  // Somebody else before the same wall is somebody else; the same clothes, or another wall, are not.
  const wallMoved = (frame: SeenFrame): boolean =>
    Math.abs(difference(frame.wallLightStops, wall) ?? Infinity) > WALL_MOVED_STOPS;
  const sameClothes = CLOTHES.every(
    (key) => Math.abs(difference(now.appearance[key], run[key]) ?? Infinity) <= SCALES[key],
  );
  const sameShade =
    Math.abs(difference(now.appearance.torsoMinusFaceStops, run.torsoMinusFaceStops) ?? 0) <= ODD_SHADE_STOPS;
  const [next, afterNext] = ahead;
  if (next === undefined || !(wallMoved(now) || (sameClothes && sameShade))) return false;
  return fits(next) || (afterNext !== undefined && wallMoved(next) && fits(afterNext));
}

/** One odd frame must look so much like the run, or like those of its frames that are framed alike, to be the same face in other light. */
function likeEnough(run: AppearanceFacts, latest: readonly SeenFrame[], { appearance }: SeenFrame): boolean {
  if ((appearanceDistance(run, appearance) ?? Infinity) <= ODD_BUT_SAME) return true;
  const look = looksInFraming(latest, appearance.cropLog2);
  return look !== null && (appearanceDistance(look, appearance) ?? Infinity) <= ODD_BUT_SAME;
}

function looksLike(run: AppearanceFacts, frame: SeenFrame): boolean {
  const distance = appearanceDistance(run, frame.appearance);
  return distance !== null && distance <= SAME_RUN;
}

/** Nobody moves so far in a light as to gain or lose this much before the same wall; that is somebody else. */
function canHaveMoved(frame: SeenFrame, faceStops: Unknown, wallStops: Unknown): boolean {
  const face = difference(frame.faceLightStops, faceStops);
  return face === null || Math.abs(face - (difference(frame.wallLightStops, wallStops) ?? face)) <= MOST_MOVED_STOPS;
}

/** The face stepped and the wall did not go with it. */
function faceStepped(frame: SeenFrame, faceStops: Unknown, wallStops: Unknown): boolean {
  const face = difference(frame.faceLightStops, faceStops);
  if (face === null || Math.abs(face) <= FACE_STEP_STOPS) return false;
  return Math.abs(face - (difference(frame.wallLightStops, wallStops) ?? 0)) > FACE_STEP_STOPS;
}

/** Three frames around whose faces stepped alike, and which surely look like the run: the light moved, not the sitter. */
function isSameInOtherLight(
  { appearance: run, faceLightStops: face, wallLightStops: wall }: RunSummary,
  around: readonly SeenFrame[],
): boolean {
  const alike = around.filter((frame) => looksLike(run, frame) && faceStepped(frame, face, wall));
  if (alike.length <= ODD_FRAMES) return false;
  const distance = appearanceDistance(run, medianAppearance(alike));
  return distance !== null && distance <= SURELY_SAME;
}
