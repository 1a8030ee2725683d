import type { StopsHistogram } from '../../src/contracts/tone.js';

/**
 * A histogram whose pixels spread evenly between two levels.
 *
 * @param fromStops a multiple of 1/6 stop, -9 or more
 * @param toStops a multiple of 1/6 stop, 3 or less
 */
export function histogramOf(fromStops: number, toStops: number, perBin = 60, below = 0, above = 0): StopsHistogram {
  const [first, end] = [Math.round((fromStops + 9) * 6), Math.round((toStops + 9) * 6)];
  return {
    firstBinStops: -9,
    binWidthStops: 1 / 6,
    counts: Array.from({ length: 72 }, (_, bin) => (bin >= first && bin < end ? perBin : 0)),
    below,
    above,
  };
}
