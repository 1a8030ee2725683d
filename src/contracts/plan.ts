import { z } from 'zod';
import { SavedLook } from './look.js';
import { positive, stops } from './quantities.js';

export const LightKind = z.enum(['auto', 'flash', 'continuous']);
export type LightKind = z.infer<typeof LightKind>;

export const CameraSettings = z.object({
  fNumber: positive().optional(),
  exposureTimeSeconds: positive().optional(),
  iso: positive().optional(),
});
export type CameraSettings = z.infer<typeof CameraSettings>;

/**
 * A time such as 2026-05-16T10:05:00. Without an offset it is the camera's own clock; with one (Z, +01:00) it is an
 * instant, and only frames whose offset is known can fit it.
 */
const ClockTime = z
  .string()
  .regex(
    /^\d{4}-\d\d-\d\dT\d\d:\d\d(:\d\d(\.\d{1,6})?)?(Z|[+-]\d\d:\d\d)?$/,
    'expected a time such as 2026-05-16T10:05:00, with or without an offset',
  );

/** The largest C of ISO 2720:1974 is that of a hemispherical receptor, 540; the smallest that of a flat one, 240. */
const MeterConstantC = z.number().min(240).max(540);

/**
 * What an incident meter at the subject's face read: the settings that it asks for, or, of continuous light, an exposure
 * value at ISO 100, or lux.
 */
export const MeterReading = z
  .strictObject({
    fNumber: positive().optional(),
    iso: positive().optional(),
    /** Needed for continuous light; a flash reading does not hang on it. */
    exposureTimeSeconds: positive().optional(),
    /** Exposure value at ISO 100, in place of settings. */
    ev100: z.number().min(-10).max(25).optional(),
    /** Illuminance, in place of settings. */
    lux: positive().optional(),
    /** With lux: the constant that an exposure follows from it by, in lx s; 250, of a flat receptor, where not told. */
    meterConstantC: MeterConstantC.optional(),
  })
  .superRefine(({ fNumber, iso, exposureTimeSeconds, ev100, lux, meterConstantC }, context) => {
    const expected = (message: string, path: string): void =>
      context.addIssue({ code: 'custom', message, path: [path] });
    const forms = [fNumber ?? iso ?? exposureTimeSeconds, ev100, lux].filter((form) => form !== undefined);
    if (forms.length !== 1) expected('expected one of: fNumber with iso, ev100, or lux', 'fNumber');
    else if (ev100 === undefined && lux === undefined) {
      if (fNumber === undefined) expected('expected an f-number with iso', 'fNumber');
      if (iso === undefined) expected('expected the ISO speed that the meter stood at', 'iso');
    }
    if (meterConstantC !== undefined && lux === undefined) expected('expected lux with a meter constant', 'lux');
  });
export type MeterReading = z.infer<typeof MeterReading>;

/** Where the main light stands, and how large it is; without a size it is taken as a small bare source. */
export const PlannedLightPlace = z
  .strictObject({
    /** Level distance from the subject to the light's middle. */
    lightDistanceMetres: positive(),
    /** Its middle above the face; negative: below; 0 where not told. */
    lightRaisedMetres: z.number().min(-3).max(10).optional(),
    lightWidthMetres: positive().optional(),
    lightHeightMetres: positive().optional(),
    lightDiameterMetres: positive().optional(),
    /** Where its middle points to; the face where not told. */
    lightAim: z.enum(['face', 'waist', 'knee', 'level']).optional(),
    /** Of a standing subject; 1.7 where not told. */
    statureMetres: positive().max(3).optional(),
  })
  .refine((light) => (light.lightWidthMetres === undefined) === (light.lightHeightMetres === undefined), {
    message: 'expected lightWidthMetres and lightHeightMetres together',
    path: ['lightHeightMetres'],
  })
  .refine((light) => light.lightWidthMetres === undefined || light.lightDiameterMetres === undefined, {
    message: 'expected either a width and a height or a diameter, not both',
    path: ['lightDiameterMetres'],
  });
export type PlannedLightPlace = z.infer<typeof PlannedLightPlace>;

/** One set-up as it was planned, and which frames it holds for. */
export const PlannedSetup = z.strictObject({
  name: z.string().min(1).max(200),
  /** First and last frame, both included, names ordered as people count: IMG_9 before IMG_10. */
  frames: z.strictObject({ first: z.string().min(1), last: z.string().min(1) }).optional(),
  /** First and last moment, both included. */
  times: z.strictObject({ from: ClockTime, until: ClockTime }).optional(),
  reading: MeterReading.optional(),
  /** How far over (+) or under (-) the reading the frames are meant to be. */
  overReadingStops: stops().min(-5).max(5).optional(),
  /** Camera settings for this set-up, in place of the whole plan's. */
  target: CameraSettings.optional(),
  toleranceStops: stops().positive().max(5).optional(),
  light: PlannedLightPlace.optional(),
});
export type PlannedSetup = z.infer<typeof PlannedSetup>;

/** Which frames a planned set-up holds for must be told as soon as there are two. */
function eachToldWhere(setups: PlannedSetup[], context: z.RefinementCtx<PlannedSetup[]>): void {
  const names = new Set<string>();
  setups.forEach(({ name, frames, times }, i) => {
    if (setups.length > 1 && frames === undefined && times === undefined)
      context.addIssue({
        code: 'custom',
        message: 'expected frames or times, since there is more than one set-up',
        path: [i],
      });
    if (names.has(name)) context.addIssue({ code: 'custom', message: `"${name}" is taken already`, path: [i, 'name'] });
    names.add(name);
  });
}

/** How far one camera's clock runs ahead (+) of the time that holds, or behind (-); it is taken off before frames are ordered. */
export const PlannedClock = z.strictObject({
  /** Model or serial number as the files tell it, or maker, model and serial number with blanks between. */
  camera: z.string().min(1).max(200),
  aheadSeconds: z.number(),
});
export type PlannedClock = z.infer<typeof PlannedClock>;

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
  /** The set-ups as planned, each with what the meter read there and where the light stands. */
  setups: z.array(PlannedSetup).max(1000).superRefine(eachToldWhere).optional(),
  /** A saved look of the studio's own that every set-up is held against. */
  look: SavedLook.optional(),
  /** Cameras whose clocks are known to be off; what is not told is looked for in the frames. */
  cameraClocks: z.array(PlannedClock).max(100).optional(),
  /** The frames are finished exports, cropped and edited: they are judged on what they show, never on settings. */
  finished: z.boolean().optional(),
  notes: z.string().max(4000).optional(),
});
export type ShootPlan = z.infer<typeof ShootPlan>;
export type ShootPlanInput = z.input<typeof ShootPlan>;
