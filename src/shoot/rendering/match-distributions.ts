import type { StopsHistogram } from '../../contracts/tone.js';

export interface LevelPair {
  /** Level as read from the rendered file, stops re mid-grey. */
  readStops: number;
  /** Level of the same pixels' light as the raw tells it, up to one constant. */
  lightStops: number;
}

/** Shares of the pixels at which the two distributions are compared. */
const FROM_SHARE = 0.02;
const TO_SHARE = 0.98;
const POINTS = 97;
/** Readings above this stand on the shoulder where a few codes hold all: white is +2.47 in file terms, +3.4 in light. */
const HIGHEST_READ_STOPS = 2.4;
const LOWEST_READ_STOPS = -6;

/**
 * One scene seen twice, once in light and once through an unknown monotone curve: equal shares of the pixels lie under
 * equal places, so the quantiles of both histograms trace the curve (histogram specification; Gonzalez & Woods,
 * Digital Image Processing, from memory). Needs no alignment of the pixels; a different crop of the edges moves it little.
 */
export function matchDistributions(light: StopsHistogram, read: StopsHistogram): LevelPair[] {
  const pairs: LevelPair[] = [];
  for (let i = 0; i < POINTS; i++) {
    const share = FROM_SHARE + ((TO_SHARE - FROM_SHARE) * i) / (POINTS - 1);
    const lightStops = quantile(light, share);
    const readStops = quantile(read, share);
    if (lightStops === null || readStops === null) continue;
    if (readStops < LOWEST_READ_STOPS || readStops > HIGHEST_READ_STOPS) continue;
    pairs.push({ readStops, lightStops });
  }
  return pairs;
}

/** Level under which a share of the pixels lies, straight inside a bin; null in the open ends. */
function quantile(histogram: StopsHistogram, share: number): number | null {
  const { counts, below, above, firstBinStops, binWidthStops } = histogram;
  const total = counts.reduce((sum, n) => sum + n, below + above);
  const wanted = share * total;
  if (wanted < below || wanted > total - above) return null;
  let seen = below;
  for (const [bin, n] of counts.entries()) {
    if (n > 0 && seen + n >= wanted) return firstBinStops + (bin + (wanted - seen) / n) * binWidthStops;
    seen += n;
  }
  return null;
}
