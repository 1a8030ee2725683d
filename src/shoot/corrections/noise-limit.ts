import type { Noise } from '../../contracts/noise.js';
import { MID_GREY_LINEAR, linearFromLevelStops } from '../../photometry/stops.js';
import { SV_OF_ISO_100 } from '../../photometry/apex.js';
import type { FrameFacts } from '../facts.js';

/** By ISO: three stops of lift at ISO 100 look clean enough, half a stop less for each stop of ISO. Ours, common practice. */
const BY_ISO = { atIso100Stops: 3, perIsoStop: 0.5, leastStops: 0.5, unknownSv: 7 } as const;
/** So dark an 8-bit region has too few codes for more than one stop. Ours. */
const FEW_CODES = { belowStops: -5.5, mostStops: 1 } as const;
/**
 * Noise that is let into a lifted region, as a share of mid-grey: a signal-to-noise ratio of 10, the "acceptable" of
 * the noise-based speeds of ISO 12232 (from memory).
 */
const ACCEPTABLE_NOISE_SHARE = 0.1;

/** Noise of the nearest level that was read, as a share of the signal; null where none was. */
export function noiseShareAt(noise: Noise | undefined, levelStops: number): number | null {
  let best: { share: number; apart: number } | null = null;
  for (const { fromStops, toStops, noiseShare } of noise?.byLevel ?? []) {
    const apart = Math.abs(levelStops - (fromStops + toStops) / 2);
    if (best === null || apart < best.apart) best = { share: noiseShare, apart };
  }
  return best?.share ?? null;
}

/**
 * Most stops by which a region at this level can be raised before its noise shows: by what its ISO lets expect, and by
 * the noise that the frame shows there. The lesser of the two, since noise reduction hides the one and long exposures
 * or warm sensors add to the other.
 */
export function noiseLimitStops({ sv, measurement }: FrameFacts, levelStops: number | null): number {
  const overIso100 = Math.max(0, (sv ?? BY_ISO.unknownSv) - SV_OF_ISO_100);
  const byIso = Math.max(BY_ISO.leastStops, BY_ISO.atIso100Stops - BY_ISO.perIsoStop * overIso100);
  if (levelStops === null) return byIso;
  const byCodes =
    measurement.encoding === 'rendered' && levelStops < FEW_CODES.belowStops ? FEW_CODES.mostStops : byIso;
  const share = noiseShareAt(measurement.noise, levelStops);
  if (share === null || share === 0) return Math.min(byIso, byCodes);
  const shown = share * linearFromLevelStops(levelStops);
  return Math.max(0, Math.min(byIso, byCodes, Math.log2((ACCEPTABLE_NOISE_SHARE * MID_GREY_LINEAR) / shown)));
}
