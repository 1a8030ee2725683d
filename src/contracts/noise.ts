import { z } from 'zod';
import { count, share } from './quantities.js';

/** How noisy flat parts of the frame are, pixel by pixel as the file shows them, camera's noise reduction included. */
export const Noise = z.object({
  /** By whole stops of level, dark to bright; levels without enough flat parts are left out. */
  byLevel: z.array(
    z.object({
      fromStops: z.number(),
      toStops: z.number(),
      /** Standard deviation over mean of linear luminance, tone response undone. */
      noiseShare: share(),
      /** Flat parts of 12 x 12 pixels that it was read from. */
      parts: count(),
    }),
  ),
});
export type Noise = z.infer<typeof Noise>;
