import { medianOf, neighbourSpread, type Unknown } from './known.js';

/** Least noise that is believed of a level; as in signals.ts, smoothed. Ours. */
const LEAST_NOISE_STOPS = 0.03;
/** Points that are compared; the work for two steps grows with their square. */
const MOST_POINTS = 60;

/**
 * Whether one step, or two, tell a series better than a line of the given slope: squares of what is left in units of
 * the noise, plus ln n for each parameter (BIC; Schwarz 1978). Medians of five, or of longer pieces, come first, so that
 * one or two odd frames are no steps.
 *
 * @param values one a frame in time, null where unknown
 * @param slope of the line, in the values' unit a frame
 */
export function stepsBeatLine(values: readonly Unknown[], slope: number): boolean {
  const noise = Math.max(LEAST_NOISE_STOPS, neighbourSpread(values) ?? LEAST_NOISE_STOPS);
  const { xs, ys, each } = smoothed(values);
  const n = ys.length;
  if (n < 4) return true;
  const level = medianOf(ys, (y, i) => y - slope * (xs[i] as number)) ?? 0;
  let line = 0;
  ys.forEach((y, i) => (line += (y - level - slope * (xs[i] as number)) ** 2));
  const costOf = meanCost(ys);
  let one = Infinity;
  let two = Infinity;
  for (let a = 1; a < n; a++) {
    one = Math.min(one, costOf(0, a) + costOf(a, n));
    for (let b = a + 1; b < n; b++) two = Math.min(two, costOf(0, a) + costOf(a, b) + costOf(b, n));
  }
  // The median of a piece scatters less by about the root of its length.
  const unit = (noise * noise) / each;
  const penalty = Math.log(n);
  const ofLine = line / unit + 2 * penalty;
  return Math.min(one / unit + 3 * penalty, two / unit + 5 * penalty) < ofLine;
}

function smoothed(values: readonly Unknown[]): { xs: number[]; ys: number[]; each: number } {
  const each = Math.max(5, Math.ceil(values.length / MOST_POINTS));
  // Short series keep their points, each the median of itself and its neighbours; long ones become one point a piece.
  const stride = values.length > 5 * MOST_POINTS ? each : Math.max(1, Math.ceil(values.length / MOST_POINTS));
  const xs: number[] = [];
  const ys: number[] = [];
  for (let at = 0; at < values.length; at += stride) {
    const from = stride === each ? at : Math.max(0, at - 2);
    const piece = values.slice(from, Math.min(values.length, stride === each ? at + each : at + 3));
    const y = medianOf(piece, (value) => value);
    if (y === null) continue;
    xs.push(stride === each ? from + (piece.length - 1) / 2 : at);
    ys.push(y);
  }
  return { xs, ys, each: stride === each ? each : 1 };
}

/** Sum of squares about the mean of rows start (included) to end (not included). */
function meanCost(ys: readonly number[]): (start: number, end: number) => number {
  const sums = [0];
  const squares = [0];
  ys.forEach((y, i) => {
    sums.push((sums[i] as number) + y);
    squares.push((squares[i] as number) + y * y);
  });
  return (start, end) => {
    const sum = (sums[end] as number) - (sums[start] as number);
    return Math.max(0, (squares[end] as number) - (squares[start] as number) - (sum * sum) / (end - start));
  };
}
