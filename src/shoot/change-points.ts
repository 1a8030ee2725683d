import { leastSquaresCost, pelt } from '../photometry/pelt.js';
import type { Signal } from './signals.js';

/** Frames on each side that a place is first looked at with. */
const LOOK_FRAMES = 3;
/** A place where some signal steps by at least so many of its noises is worth trying. Ours: misses no real step. */
const TRY_FROM_NOISES = 1.6;
/** Most places tried in one search; longer tracks are searched piece by piece, so time grows linearly. */
const PLACES_A_SEARCH = 240;
/** Cost of one more change, in units of noise variance, times ln(frames): 2 per changed value (BIC), two values. */
const PENALTY_PER_LN_FRAMES = 4;

/**
 * Where the signals step: PELT (least squares over all signals, each in units of its noise, penalty
 * 4 ln n) over the places where a quick look finds any step at all. Returns the first frame of every new
 * stretch, ascending. Single odd frames come out as stretches of their own; set-ups.ts puts them back.
 */
export function findChangePoints(signals: readonly Signal[], frames: number): number[] {
  if (frames < 2 || signals.length === 0) return [];
  const columns = signals.map((signal) => signal.values);
  const cost = leastSquaresCost(columns);
  const penalty = PENALTY_PER_LN_FRAMES * Math.log(Math.max(frames, 20));
  const places = [...placesWorthTrying(columns, frames), frames];
  const found: number[] = [];
  let from = 0;
  // A piece ends at its last place, where no change can be found: so the next piece has that place, too.
  for (let next = 0; next + 1 < places.length; next += PLACES_A_SEARCH - 1) {
    const piece = [from, ...places.slice(next, next + PLACES_A_SEARCH)];
    const rows = piece.length - 1;
    const { changePoints } = pelt({
      rows,
      penalty,
      cost: (start, end) => cost(piece[start] as number, piece[end] as number),
    });
    const changes = changePoints.map((row) => piece[row] as number);
    found.push(...changes);
    // The last stretch may go on into the next piece, which therefore starts where that stretch started.
    from = changes.at(-1) ?? from;
  }
  return found;
}

function placesWorthTrying(columns: readonly (readonly (number | null)[])[], frames: number): number[] {
  const places: number[] = [];
  for (let place = 1; place < frames; place++) if (columns.some((column) => steps(column, place))) places.push(place);
  return places;
}

function steps(column: readonly (number | null)[], place: number): boolean {
  if (apart(column, place, 1) > 2 * TRY_FROM_NOISES) return true;
  return apart(column, place, LOOK_FRAMES) > TRY_FROM_NOISES;
}

/** Difference of the means of so many frames before and after a place; 0 where one side is unknown. */
function apart(column: readonly (number | null)[], place: number, frames: number): number {
  const before = meanOf(column, Math.max(0, place - frames), place);
  const after = meanOf(column, place, Math.min(column.length, place + frames));
  return before === null || after === null ? 0 : Math.abs(after - before);
}

function meanOf(column: readonly (number | null)[], start: number, end: number): number | null {
  let sum = 0;
  let count = 0;
  for (let i = start; i < end; i++) {
    const value = column[i] ?? null;
    if (value === null) continue;
    sum += value;
    count++;
  }
  return count === 0 ? null : sum / count;
}
