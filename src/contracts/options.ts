import { z } from 'zod';
import { CameraCalibration } from './calibration.js';

/**
 * How a frame is to be measured. Together with the bytes these options decide the measurement
 * completely, so their hash is part of a job's identity.
 */
export const MeasuringOptions = z.object({
  /** `auto`: the best that applies (raw: none needed; a calibration of this camera; else assumed). `none`: the file is plain. */
  toneResponse: z.enum(['auto', 'none']).default('auto'),
  /** Calibrations that may apply; the one with the frame's own key is used. */
  calibrations: z.array(CameraCalibration).max(1000).default([]),
  /** Look for people; off measures the frame only. */
  findPeople: z.boolean().default(true),
  /** Refuse images with more pixels than this before decoding. */
  maxPixels: z.number().int().positive().default(300_000_000),
  /** Long edge of the preview that is kept, in pixels. */
  previewLongEdgePx: z.number().int().min(64).max(4096).default(1024),
});
export type MeasuringOptions = z.infer<typeof MeasuringOptions>;
