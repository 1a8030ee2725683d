import { z } from 'zod';
import { ExposureData } from './exposure.js';
import { Noise } from './noise.js';
import { Background, Colour, Person } from './people.js';
import { count } from './quantities.js';
import { Clipping, StopsHistogram, Tone, ToneResponse } from './tone.js';

export const FrameSource = z.object({
  format: z.string().describe('jpeg, png, tiff, webp, avif, gif, heif, raw'),
  bytes: count(),
  sha256: z.string().regex(/^[0-9a-f]{64}$/),
  /** Upright size. */
  widthPx: z.number().int().positive(),
  heightPx: z.number().int().positive(),
  orientation: z.number().int().min(1).max(8).describe('Exif orientation that was applied to stand the frame upright'),
  bitDepth: z.number().int().positive(),
  channels: z.number().int().positive(),
  profile: z.object({
    description: z.string().nullable(),
    kind: z.enum(['matrix', 'grey', 'table', 'none']),
    /**
     * How codes became linear light. `stated-space`: by a space that the file states in other words than a profile
     * (Exif, PNG chunks, code points of H.273).
     */
    handling: z.enum(['profile-curves', 'stated-space', 'taken-as-srgb', 'converted-to-srgb', 'linear']),
    because: z.string(),
  }),
});
export type FrameSource = z.infer<typeof FrameSource>;

export const FrameMeasurement = z.object({
  schemaVersion: z.literal(1),
  measuringVersion: z.string(),
  /** Version of this package, of Node and of each library that measured, by name; added by whoever stores it. */
  measuredWith: z.record(z.string(), z.string()).optional(),
  encoding: z.enum(['rendered', 'scene']),
  source: FrameSource,
  exposure: ExposureData,
  toneResponse: ToneResponse,
  tone: Tone,
  clipping: Clipping,
  people: z.array(Person),
  background: Background,
  colour: Colour,
  /** Absent in measurements of versions that did not read it. */
  noise: Noise.optional(),
  /**
   * Raw files: the levels of the camera's own JPEG of the same exposure, found inside and read through the assumed
   * response. Null for other files and where there is none.
   */
  ownRendering: StopsHistogram.nullable(),
  /** Things a reader should know; none of them stopped the measurement. */
  notes: z.array(z.string()),
  /** Wall milliseconds by stage; the only part that differs between two measurements of the same bytes. */
  timing: z.record(z.string(), z.number()),
});
export type FrameMeasurement = z.infer<typeof FrameMeasurement>;
