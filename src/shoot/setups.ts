import { arrangementOf, type Arrangement } from './arrangement.js';
import {
  WINDOW_FRAMES,
  castChanged,
  changeBetween,
  isAnother,
  lightChanged,
  onlySettingsChanged,
  settingsChanged,
  sideToSideChanged,
  type ArrangementChange,
} from './arrangement-change.js';
import { findChangePoints } from './change-points.js';
import { intervalMs, signalsOf } from './signals.js';
import type { SequenceFrame } from './sequence.js';

/** Frames start (included) to end (not included) of one track. */
export interface Stretch {
  start: number;
  end: number;
}

/** So few odd frames between frames of one arrangement are an incident inside it. */
const INCIDENT_FRAMES = 3;
/** Settings that were changed and changed back after so few frames did not make a set-up. Ours. */
const KNOCKED_FRAMES = 12;

/** Cuts a track at every step of a signal: pieces, of which set-ups are made. */
export function cutAtSteps(frames: readonly SequenceFrame[], shutterWeight: number): Stretch[] {
  if (frames.length === 0) return [];
  const starts = [0, ...findChangePoints(signalsOf(frames, shutterWeight), frames.length)];
  return starts.map((start, i) => ({ start, end: starts[i + 1] ?? frames.length }));
}

/** Makes set-ups of the pieces: single odd frames and incidents are put back, and pieces that are alike joined. */
export function joinPieces(
  pieces: readonly Stretch[],
  frames: readonly SequenceFrame[],
  shutterWeight: number,
): Stretch[] {
  let stretches: Stretch[] = [...pieces];
  const between = comparing(frames, shutterWeight);
  for (let round = 0; round < 6; round++) {
    const before = stretches.length;
    stretches = absorbIncidents(stretches, between);
    stretches = joinAlike(stretches, between);
    stretches = placeShortOnes(stretches, frames, between);
    stretches = joinAlike(stretches, between);
    if (stretches.length === before) break;
  }
  return stretches;
}

/** Compares the frames nearest to each other: the end of one stretch with the beginning of the other. */
export function comparing(frames: readonly SequenceFrame[], shutterWeight: number): Compare {
  // The same ends are compared many times over.
  const known = new Map<number, Arrangement>();
  const window = (start: number, end: number): Arrangement => {
    const key = start * (frames.length + 1) + end;
    let arrangement = known.get(key);
    if (arrangement === undefined) known.set(key, (arrangement = arrangementOf(frames.slice(start, end))));
    return arrangement;
  };
  return (a, b) =>
    changeBetween(
      window(Math.max(a.start, a.end - WINDOW_FRAMES), a.end),
      window(b.start, Math.min(b.end, b.start + WINDOW_FRAMES)),
      shutterWeight,
    );
}

const lengthOf = (stretch: Stretch): number => stretch.end - stretch.start;

type Compare = (a: Stretch, b: Stretch) => ArrangementChange;

/** A, something short, A again: the something is an incident of A. */
function absorbIncidents(stretches: readonly Stretch[], between: Compare): Stretch[] {
  const kept: Stretch[] = [];
  for (let i = 0; i < stretches.length; i++) {
    const now = stretches[i] as Stretch;
    const before = kept.at(-1);
    if (before === undefined) {
      kept.push(now);
      continue;
    }
    // Several short stretches in a row may lie between the two like ones.
    let joined = false;
    for (let last = i; last < Math.min(i + 3, stretches.length - 1) && !joined; last++) {
      const span = { start: now.start, end: (stretches[last] as Stretch).end };
      const after = stretches[last + 1] as Stretch;
      if (!maybeIncident(before, span, after, between)) continue;
      before.end = after.end;
      i = last + 1;
      joined = true;
    }
    if (!joined) kept.push({ ...now });
  }
  return kept;
}

function maybeIncident(before: Stretch, span: Stretch, after: Stretch, between: Compare): boolean {
  const length = lengthOf(span);
  if (length > KNOCKED_FRAMES) return false;
  if (length >= lengthOf(before) && length >= lengthOf(after) && length > 1) return false;
  if (isAnother(between(before, after))) return false;
  return length <= INCIDENT_FRAMES || onlySettingsChanged(between(before, span));
}

/** A single frame, or two or three that differ in one respect only, go to the neighbour that they are most like. */
function placeShortOnes(stretches: readonly Stretch[], frames: readonly SequenceFrame[], between: Compare): Stretch[] {
  const kept: Stretch[] = stretches.map((stretch) => ({ ...stretch }));
  for (let i = 0; i < kept.length && kept.length > 1; i++) {
    const now = kept[i] as Stretch;
    if (lengthOf(now) > INCIDENT_FRAMES) continue;
    const before = kept[i - 1];
    const after = kept[i + 1];
    const toBefore = before === undefined ? Infinity : unlikeness(between(before, now), frames, now.start);
    const toAfter = after === undefined ? Infinity : unlikeness(between(now, after), frames, now.end);
    const nearer = toBefore <= toAfter ? before : after;
    if (nearer === undefined) continue;
    const change = nearer === before ? between(nearer, now) : between(now, nearer);
    if (lengthOf(now) > 1 && respects(change) > 1) continue;
    nearer.start = Math.min(nearer.start, now.start);
    nearer.end = Math.max(nearer.end, now.end);
    kept.splice(i, 1);
    i--;
  }
  return kept;
}

function respects(change: ArrangementChange): number {
  return [lightChanged(change), settingsChanged(change), sideToSideChanged(change), castChanged(change)].filter(Boolean)
    .length;
}

/** Level counts least here: an odd frame is odd in level. Settings, sitter and the pause tell where it belongs. */
function unlikeness(change: ArrangementChange, frames: readonly SequenceFrame[], place: number): number {
  const capped = (value: number | null, scale: number): number => Math.min(1, Math.abs(value ?? 0) / scale);
  const before = frames[place - 1];
  const after = frames[place];
  const pause = before === undefined || after === undefined ? null : intervalMs(before, after);
  return (
    2 * capped(change.largestSettingStops, 0.5) +
    capped(change.wallLightStops, 1) +
    capped(change.sideToSideStops, 1) +
    capped(change.mired, 30) +
    capped(change.focalLog2, 0.7) +
    (change.sittersShared ? 0 : 1) +
    2 * capped(pause, 120_000)
  );
}

function joinAlike(stretches: readonly Stretch[], between: Compare): Stretch[] {
  const kept: Stretch[] = [];
  for (const stretch of stretches) {
    const before = kept.at(-1);
    if (before !== undefined && !isAnother(between(before, stretch))) before.end = stretch.end;
    else kept.push({ ...stretch });
  }
  return kept;
}
