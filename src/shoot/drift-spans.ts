import { arrangementOf, type Arrangement } from './arrangement.js';
import { castChanged, changeBetween } from './arrangement-change.js';
import { LEAST_DRIFT_FRAMES, driftIn, type Drift } from './drift-in.js';
import { difference, medianOf } from './known.js';
import type { SequenceFrame } from './sequence.js';
import type { Stretch } from './setups.js';
import { settingsWander } from './signals.js';

/** Frames of one track over which the light drifts. */
export interface DriftSpan extends Stretch {
  drift: Drift;
}

/** The search for steps cuts a ramp into pieces: so many in a row are tried as one. */
const MOST_STRETCHES = 14;
/** Settings that differ by less are the same dial. Ours. */
const SAME_DIAL_STOPS = 0.2;

/**
 * Runs of neighbouring stretches that one drift tells better than steps do. A pause ends a run (a battery recovers, a
 * lamp is moved), and so does a camera setting that stays changed.
 *
 * @param pieces what the search for steps made of the track, in order
 * @param pauseBefore whether a pause lies before the frame of that index
 */
export function findDrifts(
  frames: readonly SequenceFrame[],
  pieces: readonly Stretch[],
  shutterWeight: number,
  pauseBefore: (index: number) => boolean,
): DriftSpan[] {
  const stretches = pieces.flatMap((piece) => finer(frames, piece));
  const arrangements = stretches.map(({ start, end }) => arrangementOf(frames.slice(start, end)));
  const spans: DriftSpan[] = [];
  let i = 0;
  while (i < stretches.length) {
    const span = longestDrift(frames, stretches, arrangements, i, shutterWeight, pauseBefore);
    if (span === null) {
      i++;
      continue;
    }
    const before = stretches[i - 1];
    const begun = before === undefined || pauseBefore(span.start) || spans.at(-1)?.end === span.start;
    spans.push(begun ? span : { ...span, start: meetsFlat(frames, before, span) });
    while (i < stretches.length && (stretches[i] as Stretch).start < span.end) i++;
  }
  return spans;
}

/** A long piece whose ends stand apart is tried in parts: a slow ramp has no step to be cut at. Ours. */
const FINER = { fromFrames: 24, parts: 8, leastFrames: 8, endsApartStops: 0.1 } as const;

function finer(frames: readonly SequenceFrame[], piece: Stretch): Stretch[] {
  const { start, end } = piece;
  if (end - start < FINER.fromFrames) return [piece];
  const quarter = Math.floor((end - start) / 4);
  const level = (from: number, to: number): number | null =>
    medianOf(frames.slice(from, to), (frame) => frame.wallLightStops ?? frame.subjectLightStops);
  const apart = difference(level(end - quarter, end), level(start, start + quarter));
  if (apart === null || Math.abs(apart) < FINER.endsApartStops) return [piece];
  const length = Math.max(FINER.leastFrames, Math.ceil((end - start) / FINER.parts));
  const parts: Stretch[] = [];
  for (let at = start; at < end; at += length) parts.push({ start: at, end: Math.min(end, at + length) });
  return parts;
}

function longestDrift(
  frames: readonly SequenceFrame[],
  stretches: readonly Stretch[],
  arrangements: readonly Arrangement[],
  first: number,
  shutterWeight: number,
  pauseBefore: (index: number) => boolean,
): DriftSpan | null {
  let reach = first;
  while (
    reach + 1 < Math.min(stretches.length, first + MOST_STRETCHES) &&
    !pauseBefore((stretches[reach + 1] as Stretch).start)
  )
    reach++;
  const start = (stretches[first] as Stretch).start;
  for (let last = reach; last >= first; last--) {
    const end = (stretches[last] as Stretch).end;
    if (end - start < LEAST_DRIFT_FRAMES) return null;
    if (!alikeButForLevel(arrangements[first] as Arrangement, arrangements[last] as Arrangement, shutterWeight))
      continue;
    if (!settingsStay(arrangements.slice(first, last + 1), frames.slice(start, end), shutterWeight)) continue;
    const drift = driftIn(frames.slice(start, end));
    if (drift !== null) return { start, end, drift };
  }
  return null;
}

/** Fewer steady frames before a drift set no level to meet. Ours. */
const LEAST_FLAT_FRAMES = 5;

/**
 * Where a drift began inside the piece before it: where its line meets that piece's steady level. The search for steps
 * counts the first frames of a ramp with the steady ones before.
 */
function meetsFlat(frames: readonly SequenceFrame[], before: Stretch, { start, end, drift }: DriftSpan): number {
  const slope = drift.stopsPerFrame;
  const atStart = medianOf(frames.slice(start, end), ({ wallLightStops }, i) => difference(wallLightStops, slope * i));
  let from = start;
  for (let round = 0; round < 4 && atStart !== null; round++) {
    if (from - before.start < LEAST_FLAT_FRAMES) return start;
    const flat = medianOf(frames.slice(before.start, from), (frame) => frame.wallLightStops);
    if (flat === null) return start;
    const meets = Math.round(start + (flat - atStart) / slope);
    if (meets >= start || meets < before.start + LEAST_FLAT_FRAMES) return start;
    from = meets;
  }
  const missed = medianOf(frames.slice(from, start), ({ wallLightStops }, i) =>
    wallLightStops === null || atStart === null
      ? null
      : Math.abs(wallLightStops - atStart - slope * (from + i - start)),
  );
  return missed !== null && missed <= MEETS_WITHIN_STOPS ? from : start;
}

/** Frames of the ramp that lie before its found beginning stay this near to its line, in the median. Ours. */
const MEETS_WITHIN_STOPS = 0.1;

/** Colour and sides of the light as before: a drift is of its level. */
function alikeButForLevel(before: Arrangement, after: Arrangement, shutterWeight: number): boolean {
  if (before === after) return true;
  const change = changeBetween(before, after, shutterWeight);
  return !castChanged(change) && Math.abs(change.sideToSideStops ?? 0) < SIDE_STOPS;
}

/** Sitters differ from one another by so much by themselves. Ours. */
const SIDE_STOPS = 0.8;

/** Every longer piece was shot with the first one's settings; a knocked dial for a few frames ends no drift. */
function settingsStay(
  arrangements: readonly Arrangement[],
  frames: readonly SequenceFrame[],
  shutterWeight: number,
): boolean {
  const first = arrangements[0] as Arrangement;
  const same = (other: Arrangement): boolean =>
    near(first.av, other.av) && near(first.sv, other.sv) && (shutterWeight === 0 || near(first.tv, other.tv));
  const away = arrangements.reduce((sum, other) => sum + (same(other) ? 0 : other.frames.length), 0);
  if (same(arrangements.at(-1) as Arrangement) && away <= frames.length / 4) return true;
  return settingsWander(frames);
}

const near = (a: number | null, b: number | null): boolean =>
  a === null || b === null ? a === b : Math.abs(a - b) < SAME_DIAL_STOPS;

/** The frames with the drift taken out of their light, back to what it was at the drift's first frame. */
export function withoutDrift(frames: readonly SequenceFrame[], spans: readonly DriftSpan[]): SequenceFrame[] {
  const flat = [...frames];
  const minus = (value: number | null, stops: number): number | null => (value === null ? null : value - stops);
  for (const { start, end, drift } of spans)
    for (let i = start; i < end; i++) {
      const frame = flat[i] as SequenceFrame;
      const driftStops = drift.stopsPerFrame * (i - start);
      flat[i] = {
        ...frame,
        driftStops,
        wallLightStops: minus(frame.wallLightStops, driftStops),
        subjectLightStops: minus(frame.subjectLightStops, driftStops),
      };
    }
  return flat;
}

/** The drift inside one set-up; `first` and `last` are indices among its frames. */
export interface SetupDrift extends Drift {
  first: number;
  last: number;
}

/** The longest drift that lies in a set-up. */
export function driftOfSetup(spans: readonly DriftSpan[], setup: Stretch): SetupDrift | null {
  let longest: SetupDrift | null = null;
  for (const { start, end, drift } of spans) {
    const first = Math.max(start, setup.start) - setup.start;
    const last = Math.min(end, setup.end) - setup.start - 1;
    if (last - first > (longest === null ? 0 : longest.last - longest.first)) longest = { ...drift, first, last };
  }
  return longest;
}
