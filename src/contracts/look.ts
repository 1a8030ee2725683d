import { z } from 'zod';
import { count, positive, stops } from './quantities.js';

/** A median over frames, with its robust standard deviation (null: one frame only) and the number of frames. */
export const StopsFigure = z.strictObject({
  medianStops: stops(),
  spreadStops: stops().min(0).nullable(),
  frames: count(),
});
export type StopsFigure = z.infer<typeof StopsFigure>;

export const MiredFigure = z.strictObject({
  medianMired: z.number(),
  spreadMired: z.number().min(0).nullable(),
  frames: count(),
});
export type MiredFigure = z.infer<typeof MiredFigure>;

export const DuvFigure = z.strictObject({
  medianDuv: z.number(),
  spreadDuv: z.number().min(0).nullable(),
  frames: count(),
});
export type DuvFigure = z.infer<typeof DuvFigure>;

/** What a set-up looks like, all sitters together. Null: no frame shows it. */
export const LookFigures = z.strictObject({
  /** Faces (bodies where no face shows), re mid-grey. */
  subjectLevel: StopsFigure.nullable(),
  backgroundLevel: StopsFigure.nullable(),
  /** Positive: the background is darker. */
  personToBackground: StopsFigure.nullable(),
  /** Bright side of the face minus dark side. */
  sideToSide: StopsFigure.nullable(),
  /** Light, skin against skin; positive: less light below. */
  faceToLowerBodyLight: StopsFigure.nullable(),
  /** Against D65; positive is warmer. */
  castMired: MiredFigure.nullable(),
  castDuv: DuvFigure.nullable(),
});
export type LookFigures = z.infer<typeof LookFigures>;

/**
 * A set-up's baseline kept as a standard: aggregate levels only, no picture, no frame name, nothing of any one person.
 * Written by --save-look, read by --look.
 */
export const SavedLook = z.strictObject({
  schemaVersion: z.literal(1),
  kind: z.literal('look'),
  name: z.string().min(1).max(200),
  frames: count(),
  /** How many sitters it rests on; null where they were not told apart. */
  sitters: count().nullable(),
  light: z.enum(['flash', 'continuous']),
  settings: z.strictObject({
    fNumber: positive().nullable(),
    exposureTimeSeconds: positive().nullable(),
    iso: positive().nullable(),
  }),
  /** Through which tone responses the levels went. */
  toneResponses: z
    .array(
      z.strictObject({
        source: z.enum(['scene', 'calibrated', 'learned', 'assumed', 'none']),
        frames: count(),
        uncertaintyStops: stops().min(0),
      }),
    )
    .max(5),
  measuringVersions: z.array(z.string().max(100)).max(20),
  figures: LookFigures,
});
export type SavedLook = z.infer<typeof SavedLook>;

export const LookVerdict = z.enum(['within', 'check', 'off']);
export type LookVerdict = z.infer<typeof LookVerdict>;

/** Today's figure against the look's, in stops. */
export const StopsAgainstLook = z.strictObject({
  todayStops: stops(),
  lookStops: stops(),
  /** Today minus the look. */
  differenceStops: stops(),
  uncertaintyStops: stops().min(0),
  verdict: LookVerdict,
});
export type StopsAgainstLook = z.infer<typeof StopsAgainstLook>;

/** One set-up against a saved look. Null: one of the two does not show it. */
export const LookComparison = z.strictObject({
  look: z.string(),
  /** The worst of the figures; null when nothing could be compared. */
  verdict: LookVerdict.nullable(),
  level: StopsAgainstLook.nullable(),
  contrast: StopsAgainstLook.nullable(),
  background: StopsAgainstLook.nullable(),
  fallOff: StopsAgainstLook.nullable(),
  cast: z
    .strictObject({
      differenceMired: z.number(),
      differenceDuv: z.number().nullable(),
      verdict: LookVerdict,
    })
    .nullable(),
  /** Third-stop steps to add to the light on the subject, to the light on the background. 0: leave. */
  lightThirdStopSteps: z.number().int().nullable(),
  backgroundThirdStopSteps: z.number().int().nullable(),
  /** Mired to add to the picture or the light; positive warms. */
  correctionMired: z.number().nullable(),
  /** How today's light stands and what to change, in plain sentences. */
  because: z.array(z.string()),
});
export type LookComparison = z.infer<typeof LookComparison>;
