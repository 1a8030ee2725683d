/** The form of `samples/truth.json`: what the sample shoot truly holds, frame by frame. */
import { z } from 'zod';
import { FlagCode } from '../../src/contracts/report.js';

const stopsOrNull = z.number().nullable();

export const IncidentKind = z.enum([
  'light-did-not-fire',
  'light-half-charged',
  'iso-knocked',
  'light-moved-without-metering',
  'white-balance-knocked',
  'lamp-power-knocked-up',
  'low-light-silent',
]);
export type IncidentKind = z.infer<typeof IncidentKind>;

export const FrameTruth = z.strictObject({
  name: z.string(),
  setup: z.string(),
  figure: z.string(),
  render: z.string(),
  framing: z.enum(['full', 'three-quarter', 'head']),
  capturedAt: z.string(),
  settings: z.strictObject({ fNumber: z.number(), exposureTimeSeconds: z.number(), iso: z.number() }),
  storedOrientation: z.number().int(),
  /** Lamp power relative to the set-up's metered power; null: silent. */
  lampPowerStops: stopsOrNull,
  /** What the frame got minus what its set-up was, or would have been, metered to give: settings and light together. */
  trueFromSetupStops: z.number(),
  /** How much of it the camera settings explain. */
  ofWhichSettingsStops: z.number(),
  ofWhichLightStops: z.number(),
  castShiftMired: z.number(),
  face: z.strictObject({
    lightStops: stopsOrNull,
    levelStops: stopsOrNull,
    leftToRightLightStops: stopsOrNull,
    overSensorShare: stopsOrNull,
  }),
  legs: z
    .strictObject({
      faceToLegsBrightnessStops: stopsOrNull,
      faceToLegsLightStops: stopsOrNull,
      faceToLowerLegsLightStops: stopsOrNull,
    })
    .nullable(),
  incident: z.strictObject({ kind: IncidentKind, because: z.string() }).nullable(),
  /** Each inner list: at least one of these codes, as `check` or `fault`. */
  mustFlag: z.array(z.array(FlagCode)),
  /** Never as `check` or `fault`. */
  mustNotFlag: z.array(FlagCode),
  /** How far the reported deviation from the set-up may stand from `trueFromSetupStops`; null: not held to it. */
  toleranceStops: z.number().positive().nullable(),
});
export type FrameTruth = z.infer<typeof FrameTruth>;

export const SetupTruth = z.strictObject({
  id: z.string(),
  description: z.string(),
  frames: z.array(z.string()),
  metered: z.strictObject({ fNumber: z.number(), exposureTimeSeconds: z.number(), iso: z.number() }),
  underReadingStops: z.number(),
  /** Whether a report must begin a set-up here, or merely may. */
  beginsSetup: z.enum(['must', 'may']),
  /** Change of the mean light on the face from the set-up before, settings and light together, of sitters in both; null: none. */
  levelFromPreviousStops: stopsOrNull,
});
export type SetupTruth = z.infer<typeof SetupTruth>;

export const ShootTruth = z.strictObject({
  schemaVersion: z.literal(1),
  about: z.string(),
  exposureModel: z.string(),
  curve: z.string(),
  setups: z.array(SetupTruth),
  frames: z.array(FrameTruth),
});
export type ShootTruth = z.infer<typeof ShootTruth>;
