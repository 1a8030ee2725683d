import { z } from 'zod';
import { positive, stops } from './quantities.js';

/** Exif Flash (tag 9209) taken apart; Exif 2.2 (JEITA CP-3451) p. 36. */
export const FlashState = z.object({
  code: z.number().int().min(0).max(0xffff),
  fired: z.boolean(),
  returnLight: z.enum(['not-sensed', 'reserved', 'not-detected', 'detected']),
  mode: z.enum(['unknown', 'forced-on', 'forced-off', 'auto']),
  unitPresent: z.boolean(),
  redEyeReduction: z.boolean(),
});
export type FlashState = z.infer<typeof FlashState>;

export const CapturedAt = z.object({
  /** ISO 8601 with the sub-seconds and the offset as the camera wrote them; no offset when unknown. */
  iso: z.string(),
  /** Milliseconds since 1970; a time without offset is read as if it were UTC. For ordering and intervals. */
  epochMs: z.number(),
  offsetKnown: z.boolean(),
  subSecondsKnown: z.boolean(),
});
export type CapturedAt = z.infer<typeof CapturedAt>;

export const ExposureData = z.object({
  /** Exactly as written in the file. */
  fNumber: positive().nullable(),
  exposureTimeSeconds: positive().nullable(),
  iso: positive().nullable(),
  /** The nominal scale's exact value (f/11 -> 11.3137, 1/60 -> 1/64, ISO 160 -> 158.74); as written when off any scale. */
  exact: z.object({
    fNumber: positive().nullable(),
    exposureTimeSeconds: positive().nullable(),
    iso: positive().nullable(),
  }),
  /** APEX from the exact values; `sv` with Exif's constant 1/3.125, so ISO 100 is 5. */
  av: z.number().nullable(),
  tv: z.number().nullable(),
  sv: z.number().nullable(),
  ev100: z.number().nullable().describe('absolute camera exposure, APEX, ISO 100'),
  exposureBiasStops: stops().nullable(),
  flash: FlashState.nullable(),
  exposureProgram: z.string().nullable(),
  exposureMode: z.string().nullable(),
  meteringMode: z.string().nullable(),
  whiteBalance: z.enum(['auto', 'manual']).nullable(),
  lightSource: z.string().nullable(),
  capturedAt: CapturedAt.nullable(),
  cameraMake: z.string().nullable(),
  cameraModel: z.string().nullable(),
  cameraSerial: z.string().nullable(),
  lensModel: z.string().nullable(),
  focalLengthMm: positive().nullable(),
  focalLength35mmMm: positive().nullable(),
  software: z.string().nullable(),
  /** Exif CustomRendered, Contrast, Saturation, Sharpness and ColorSpace as written: what shaped the rendering. */
  renderingSettings: z.string().nullable(),
  /** Which of the fields that judging wants are absent or unusable, with the reason. */
  missing: z.array(z.object({ field: z.string(), because: z.string() })),
});
export type ExposureData = z.infer<typeof ExposureData>;
