import { z } from 'zod';
import { ERROR_CODES } from '../errors.js';
import { FrameMeasurement } from './measurement.js';
import { MeasuringOptions } from './options.js';

/** What a measuring process is asked to do. */
export const MeasureJob = z.object({
  shootId: z.string(),
  frameName: z.string(),
  sha256: z.string(),
  options: MeasuringOptions,
});
export type MeasureJob = z.infer<typeof MeasureJob>;

export const FrameFailure = z.object({ code: z.enum(ERROR_CODES), message: z.string() });
export type FrameFailure = z.infer<typeof FrameFailure>;

/** Pictures made beside the measurement, at working size, so that nothing decodes the frame again. */
export interface FrameProducts {
  /** Upright sRGB JPEG. */
  previewJpeg: Uint8Array;
  /** Upright 8-bit grey PNG at preview size, one region code a pixel; see `REGION_CODES`. */
  regionsPng: Uint8Array;
}

/** Pixel values of `regionsPng`. 1..63 are the main person's, others' parts are not told apart. */
export const REGION_CODES = {
  background: 0,
  faceSkin: 1,
  personOther: 2,
  torso: 3,
  thighSkin: 10,
  thighCloth: 11,
  shinSkin: 12,
  shinCloth: 13,
  foot: 14,
  otherPerson: 64,
} as const;

export interface MeasuredFrame {
  measurement: FrameMeasurement;
  products: FrameProducts;
}
