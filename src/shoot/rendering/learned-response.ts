import { median, robustSigma } from '../../photometry/robust-statistics.js';
import type { LevelPair } from './match-distributions.js';

/** What the levels of one camera's rendered files, as read through the assumed response, are in light. */
export interface LearnedResponse {
  /** Ascending readings and the light they stand for, both 0 at mid-grey. */
  readStops: number[];
  lightStops: number[];
  uncertaintyStops: number;
  because: string;
}

const KNOT_STEP_STOPS = 0.5;
/** A knot needs this many pairs; fewer are a few pixels of one frame. */
const LEAST_PAIRS_A_KNOT = 4;
const LEAST_SPAN_STOPS = 3;
/** Different crops and the camera's own corrections of the lens stand between the two renderings; ours, from trials. */
const LEAST_UNCERTAINTY_STOPS = 0.04;

/**
 * One response from the level pairs of one or more exposures. Each exposure's pairs are first shifted to agree at
 * mid-grey: the brightness of a raw and of its rendering are anchored differently, only the shape is learned.
 * Null where the pairs cover too little.
 */
export function learnResponse(exposures: readonly (readonly LevelPair[])[], from: string): LearnedResponse | null {
  const bins = new Map<number, { read: number[]; light: number[] }>();
  let used = 0;
  for (const pairs of exposures) {
    const offset = lightAtMid(pairs);
    if (offset === null) continue;
    used++;
    for (const { readStops, lightStops } of pairs) {
      const bin = Math.round(readStops / KNOT_STEP_STOPS);
      const at = bins.get(bin) ?? { read: [], light: [] };
      at.read.push(readStops);
      at.light.push(lightStops - offset);
      bins.set(bin, at);
    }
  }
  const readStops: number[] = [];
  const lightStops: number[] = [];
  const scatter: number[] = [];
  for (const [, { read, light }] of [...bins].sort((a, b) => a[0] - b[0])) {
    const x = median(read);
    const y = median(light);
    if (x === null || y === null || read.length < LEAST_PAIRS_A_KNOT || y <= (lightStops.at(-1) ?? -Infinity)) continue;
    readStops.push(x);
    lightStops.push(y);
    // What differs between exposures beyond the slope inside the bin.
    if (Math.abs(x) >= 1) scatter.push(...light.map((v, i) => (v - y - (read[i] ?? x) + x) / Math.abs(x)));
  }
  const span = (readStops.at(-1) ?? 0) - (readStops[0] ?? 0);
  if (used === 0 || span < LEAST_SPAN_STOPS) return null;
  const spread = robustSigma(scatter) ?? 0;
  const uncertaintyStops = Math.max(LEAST_UNCERTAINTY_STOPS, spread);
  return {
    readStops,
    lightStops,
    uncertaintyStops,
    because: `learned in this shoot from ${used} ${from}, over ${span.toFixed(1)} stops`,
  };
}

/** Light where the reading is mid-grey, straight between the two pairs around it. */
function lightAtMid(pairs: readonly LevelPair[]): number | null {
  for (let i = 0; i + 1 < pairs.length; i++) {
    const a = pairs[i];
    const b = pairs[i + 1];
    if (!a || !b || a.readStops > 0 || b.readStops < 0) continue;
    const t = b.readStops > a.readStops ? -a.readStops / (b.readStops - a.readStops) : 0;
    return a.lightStops + t * (b.lightStops - a.lightStops);
  }
  return null;
}

/** Light of a reading: straight between knots, continued with the end slopes. */
export function lightOfReading(response: LearnedResponse, read: number): number {
  const { readStops: xs, lightStops: ys } = response;
  let hi = xs.findIndex((x) => x > read);
  if (hi < 0) hi = xs.length - 1;
  hi = Math.max(1, hi);
  const x0 = xs[hi - 1] ?? 0;
  const x1 = xs[hi] ?? 1;
  const y0 = ys[hi - 1] ?? 0;
  const y1 = ys[hi] ?? 1;
  return y0 + ((read - x0) / (x1 - x0)) * (y1 - y0);
}
