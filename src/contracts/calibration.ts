import { z } from 'zod';
import type { ExposureData } from './exposure.js';
import type { FrameSource } from './measurement.js';
import { positive, stops } from './quantities.js';

/** Which files a calibration holds for: one camera, one way of rendering, one colour space. */
export const RenderingKey = z.object({
  cameraMake: z.string(),
  cameraModel: z.string(),
  /** Exif Contrast, Saturation, CustomRendered and the colour space, as written. */
  rendering: z.string(),
});
export type RenderingKey = z.infer<typeof RenderingKey>;

/** A tone response as knots, ascending, file-linear against scene-linear; straight between them on both logarithms. */
export const ResponseKnots = z
  .object({ fileLinear: z.array(positive()).min(2).max(256), sceneLinear: z.array(positive()).min(2).max(256) })
  .refine((k) => k.fileLinear.length === k.sceneLinear.length, 'expected as many scene values as file values')
  .refine(
    (k) => [k.fileLinear, k.sceneLinear].every((v) => v.every((x, i) => i === 0 || x > (v[i - 1] ?? 0))),
    'expected values that ascend',
  );
export type ResponseKnots = z.infer<typeof ResponseKnots>;

export const CameraCalibration = z.object({
  key: RenderingKey,
  knots: ResponseKnots,
  method: z.string(),
  /** Root mean square of what the fit leaves unexplained. */
  residualStops: stops().min(0),
  /** Standard uncertainty of one stop read through it. */
  uncertaintyStops: stops().min(0),
  frames: z.number().int().min(1),
  spanStops: stops(),
});
export type CameraCalibration = z.infer<typeof CameraCalibration>;

/** The file that `calibrate` keeps and that measuring reads. */
export const CalibrationFile = z.object({ schemaVersion: z.literal(1), calibrations: z.array(CameraCalibration) });
export type CalibrationFile = z.infer<typeof CalibrationFile>;

/** A frame of a bracket, reduced to a grid of block means for fitting. */
export interface FrameSamples {
  exposure: ExposureData;
  source: FrameSource;
  encoding: 'rendered' | 'scene';
  key: RenderingKey | null;
  blocksWide: number;
  blocksHigh: number;
  /** blocks x 3 channels: mean file-linear value. */
  blockLinear: Float32Array;
  /** blocks x 3: standard deviation over mean. */
  blockSpread: Float32Array;
  /** blocks x 3: 1 where any pixel of the block is at an end of the scale. */
  blockClipped: Uint8Array;
}
