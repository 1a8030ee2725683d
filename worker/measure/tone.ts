import { STOPS_HISTOGRAM, type Tone } from '../../src/contracts/tone.js';
import { linearToSrgbCode8Rounded } from '../../src/photometry/srgb.js';
import { levelStopsOfKey, LIGHT_KEYS, luminanceOfKey } from './light-histogram.js';
import type { Reduction } from './reduce.js';

const { firstBinStops, lastBinEndStops, binsPerStop, bins } = STOPS_HISTOGRAM;

/**
 * Everything about the distribution of luminance, from the one fine histogram.
 *
 * @param toFile scene-linear -> file-linear, the inverse of the response that was undone.
 */
export function toneOf(reduction: Reduction, toFile: (sceneLinear: number) => number): Tone {
  const { lightKeys, pixels } = reduction;
  const counts = new Array<number>(bins).fill(0);
  let below = 0;
  let above = 0;
  let logSum = 0;
  let sum = 0;
  for (let key = 0; key < LIGHT_KEYS; key++) {
    const n = lightKeys[key]!;
    if (n === 0) continue;
    const level = levelStopsOfKey(key);
    sum += n * luminanceOfKey(key);
    logSum += n * Math.max(firstBinStops, level);
    if (level < firstBinStops) below += n;
    else if (level >= lastBinEndStops) above += n;
    else counts[Math.floor((level - firstBinStops) * binsPerStop)]! += n;
  }
  return {
    stopsHistogram: { firstBinStops, binWidthStops: 1 / binsPerStop, counts, below, above },
    code8Histograms: {
      red: [...reduction.codes.red],
      green: [...reduction.codes.green],
      blue: [...reduction.codes.blue],
      luminance: luminanceCode8Histogram(lightKeys, toFile),
    },
    percentilesStops: percentiles(lightKeys, pixels),
    logAverageLevelStops: logSum / pixels,
    meanLevelStops: sum > 0 ? Math.log2(sum / pixels / 0.18) : null,
    wholeStops: wholeStops(counts, below, above, pixels),
  };
}

function percentiles(lightKeys: Uint32Array, pixels: number): Tone['percentilesStops'] {
  const wanted = { p1: 0.01, p5: 0.05, p25: 0.25, p50: 0.5, p75: 0.75, p95: 0.95, p99: 0.99 } as const;
  return {
    p1: levelWhereSeen(lightKeys, wanted.p1 * pixels),
    p5: levelWhereSeen(lightKeys, wanted.p5 * pixels),
    p25: levelWhereSeen(lightKeys, wanted.p25 * pixels),
    p50: levelWhereSeen(lightKeys, wanted.p50 * pixels),
    p75: levelWhereSeen(lightKeys, wanted.p75 * pixels),
    p95: levelWhereSeen(lightKeys, wanted.p95 * pixels),
    p99: levelWhereSeen(lightKeys, wanted.p99 * pixels),
  };
}

/** The level at which so many pixels are no brighter; null under the histogram. */
function levelWhereSeen(lightKeys: Uint32Array, wanted: number): number | null {
  let seen = 0;
  for (let key = 0; key < LIGHT_KEYS; key++) {
    seen += lightKeys[key]!;
    if (seen < wanted) continue;
    const level = levelStopsOfKey(key);
    return level < firstBinStops ? null : level;
  }
  return null;
}

/** The code that a grey of each luminance has in this file, sRGB-encoded (IEC 61966-2-1). */
function luminanceCode8Histogram(lightKeys: Uint32Array, toFile: (sceneLinear: number) => number): number[] {
  const out = new Array<number>(256).fill(0);
  for (let key = 0; key < LIGHT_KEYS; key++) {
    const n = lightKeys[key]!;
    if (n > 0) out[linearToSrgbCode8Rounded(toFile(luminanceOfKey(key)))]! += n;
  }
  return out;
}

function wholeStops(counts: readonly number[], below: number, above: number, pixels: number): Tone['wholeStops'] {
  const rows: Tone['wholeStops'] = [];
  for (let from = firstBinStops; from < lastBinEndStops; from++) {
    const start = (from - firstBinStops) * binsPerStop;
    let n = 0;
    for (let i = start; i < start + binsPerStop; i++) n += counts[i]!;
    if (from === firstBinStops) n += below;
    if (from === lastBinEndStops - 1) n += above;
    rows.push({ fromStops: from, toStops: from + 1, share: n / pixels });
  }
  return rows;
}
