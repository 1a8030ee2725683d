import { z } from 'zod';
import { positive, stops } from './quantities.js';

export const LightKind = z.enum(['auto', 'flash', 'continuous']);
export type LightKind = z.infer<typeof LightKind>;

export const CameraSettings = z.object({
  fNumber: positive().optional(),
  exposureTimeSeconds: positive().optional(),
  iso: positive().optional(),
});
export type CameraSettings = z.infer<typeof CameraSettings>;

/** What the photographer meant to do; everything is optional. */
export const ShootPlan = z.strictObject({
  schemaVersion: z.literal(1).default(1),
  light: LightKind.default('auto'),
  /** How far a level may stand from its baseline before it is called a fault. */
  toleranceStops: stops()
    .positive()
    .max(5)
    .default(1 / 3),
  /** Camera settings that every frame should have. */
  target: CameraSettings.optional(),
  /** Name of the frame that others are compared with besides their set-up's baseline. */
  referenceFrame: z.string().min(1).optional(),
  /** `none`: the files are plain sRGB without a camera's curve. */
  toneResponse: z.enum(['auto', 'none']).default('auto'),
  /** Compare frames of one sitter with each other, told apart by statistics of clothing and skin; on unless `false`. */
  compareSitters: z.boolean().optional(),
  notes: z.string().max(4000).optional(),
});
export type ShootPlan = z.infer<typeof ShootPlan>;
export type ShootPlanInput = z.input<typeof ShootPlan>;
