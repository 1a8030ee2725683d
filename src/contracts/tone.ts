import { z } from 'zod';
import { Box, count, levelStops, share, stops } from './quantities.js';

/** Bins of the stops histogram: 1/6 stop from -9 to +3, plus what lies below and above. */
export const STOPS_HISTOGRAM = { firstBinStops: -9, lastBinEndStops: 3, binsPerStop: 6, bins: 72 } as const;

export const StopsHistogram = z.object({
  firstBinStops: z.literal(-9),
  binWidthStops: z.number(),
  counts: z.array(count()).length(72),
  below: count(),
  above: count(),
});
export type StopsHistogram = z.infer<typeof StopsHistogram>;

export const Tone = z.object({
  stopsHistogram: StopsHistogram,
  /** Codes of the file, 16-bit ones divided down to 0..255; luminance: the code that a grey of that luminance has. */
  code8Histograms: z.object({
    red: z.array(count()).length(256),
    green: z.array(count()).length(256),
    blue: z.array(count()).length(256),
    luminance: z.array(count()).length(256),
  }),
  /** Level below which that many per cent of the pixels lie; null where it is at or under the lowest bin. */
  percentilesStops: z.object({
    p1: levelStops().nullable(),
    p5: levelStops().nullable(),
    p25: levelStops().nullable(),
    p50: levelStops().nullable(),
    p75: levelStops().nullable(),
    p95: levelStops().nullable(),
    p99: levelStops().nullable(),
  }),
  /** Mean of log2(Y / 0.18), pixels below -9 stops counted as -9. */
  logAverageLevelStops: levelStops(),
  /** log2(mean Y / 0.18); null for an entirely black frame. */
  meanLevelStops: levelStops().nullable(),
  wholeStops: z.array(z.object({ fromStops: z.number(), toStops: z.number(), share: share() })),
});
export type Tone = z.infer<typeof Tone>;

export const ChannelShares = z.object({
  anyChannelShare: share(),
  redShare: share(),
  greenShare: share(),
  blueShare: share(),
  allChannelsShare: share(),
});

export const Clipping = z.object({
  /** Pixels at the top of the scale. */
  highlights: ChannelShares.extend({
    fromCode8: z.number().describe('codes at or above this count as clipped'),
    largestAreaShare: share().describe(
      'largest connected area in which at least half of the pixels have a clipped channel',
    ),
    largestAreaBox: Box.nullable(),
    inFacesShare: share().nullable().describe('share of face pixels with a clipped channel; null without a face'),
  }),
  /** Pixels at the bottom of the scale. */
  blacks: ChannelShares.extend({
    toCode8: z.number().describe('codes at or below this count as clipped'),
    largestAreaShare: share(),
    largestAreaBox: Box.nullable(),
  }),
});
export type Clipping = z.infer<typeof Clipping>;

export const ToneResponse = z.object({
  source: z.enum(['scene', 'calibrated', 'learned', 'assumed', 'none']),
  /** Stops of file luminance (after the file's own decoding) for one stop of light, at mid-grey. 1 for `none` and `scene`. */
  slopeAtMid: z.number().positive(),
  /** Standard uncertainty of one stop of difference read through this response, around mid-grey. */
  uncertaintyStops: stops().min(0),
  because: z.string(),
});
export type ToneResponse = z.infer<typeof ToneResponse>;
