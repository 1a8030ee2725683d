import { z } from 'zod';
import { Region, stops } from './quantities.js';

/** One step of bringing a frame to where it should be, in linear light. */
export const Correction = z.strictObject({
  step: z.enum(['level', 'cast', 'lift']),
  region: Region,
  /** Stops to add; null for a cast. */
  stops: stops().nullable(),
  /** Mired to add to the picture: positive warms. Null unless a cast. */
  mired: z.number().nullable(),
  /** Duv to add: positive greens. Null unless a cast, and where it is not known. */
  duv: z.number().nullable(),
  /** What it brings the frame to. */
  toward: z.enum(['set-up', 'reference', 'look', 'face']),
  limitedBy: z.enum(['clipping', 'noise']).nullable(),
  because: z.string(),
});
export type Correction = z.infer<typeof Correction>;
