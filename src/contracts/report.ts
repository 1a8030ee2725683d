import { z } from 'zod';
import { PlanCompliance } from './compliance.js';
import { Correction } from './correction.js';
import { LookComparison, LookFigures } from './look.js';
import { ShootPlan } from './plan.js';
import { Outline, Region, count, levelStops, share, stops } from './quantities.js';

export { Region } from './quantities.js';
import { ToneResponse } from './tone.js';

export const Verdict = z.enum(['consistent', 'check', 'off', 'unreadable']);
export type Verdict = z.infer<typeof Verdict>;

export const FlagCode = z.enum([
  'level-off-baseline',
  'settings-changed',
  'settings-off-plan',
  'light-changed',
  'light-missing',
  'light-short',
  'face-dark',
  'face-bright',
  'lower-body-dark',
  'background-shifted',
  'contrast-shifted',
  'highlights-clipped',
  'face-clipped',
  'blacks-clipped',
  'cast-shifted',
  'no-exposure-data',
  'no-face',
  'lower-body-not-in-frame',
  'low-confidence',
  'unreadable',
]);
export type FlagCode = z.infer<typeof FlagCode>;

/** `note`: worth knowing, no fault. `check`: look at it. `fault`: it is off. */
export const Severity = z.enum(['note', 'check', 'fault']);
export type Severity = z.infer<typeof Severity>;

export const Flag = z.strictObject({
  code: FlagCode,
  severity: Severity,
  stops: stops().optional(),
  region: Region.optional(),
  because: z.string().min(1).describe('one plain sentence with the numbers in it'),
});
export type Flag = z.infer<typeof Flag>;

export const Lift = z.strictObject({
  region: Region,
  stops: stops(),
  because: z.string(),
  limitedBy: z.enum(['clipping', 'noise']).nullable(),
  outline: Outline,
});
export type Lift = z.infer<typeof Lift>;

export const Deviation = z.strictObject({
  fromSetupStops: stops().nullable(),
  ofWhichSettingsStops: stops().nullable(),
  ofWhichLightStops: stops().nullable(),
  fromPlanStops: stops().nullable(),
  fromReferenceStops: stops().nullable(),
});
export type Deviation = z.infer<typeof Deviation>;

export const ReportPerson = z.strictObject({
  faceLevelStops: levelStops().nullable(),
  lowerBodyLevelStops: levelStops().nullable(),
  faceToLowerBodyStops: stops().nullable(),
  faceToLowerBodyLightStops: stops().nullable(),
  faceToLowerBodyLightUncertaintyStops: stops().nullable(),
  basis: z.enum(['skin', 'mixed', 'clothing']).nullable(),
  sideToSideStops: stops().nullable(),
  confidence: z.number().min(0).max(1),
});
export type ReportPerson = z.infer<typeof ReportPerson>;

export const ReportFrame = z.strictObject({
  name: z.string(),
  setup: z.string().nullable().describe('id of its set-up; null when the frame could not be measured'),
  capturedAt: z.string().nullable(),
  verdict: Verdict,
  flags: z.array(Flag),
  deviation: Deviation,
  toBaselineStops: stops().nullable().describe('stops to add so that the frame matches its set-up; positive brightens'),
  lifts: z.array(Lift),
  people: z.array(ReportPerson),
  clipping: z
    .strictObject({
      highlightsShare: share(),
      largestHighlightAreaShare: share(),
      facesShare: share().nullable(),
      blacksShare: share(),
    })
    .nullable(),
  exposure: z
    .strictObject({
      fNumber: z.number().nullable(),
      exposureTimeSeconds: z.number().nullable(),
      iso: z.number().nullable(),
      ev100: z.number().nullable(),
      flashFired: z.boolean().nullable(),
    })
    .nullable(),
  toneResponse: ToneResponse.nullable(),
  measurement: z.string().nullable().describe('link to the whole measurement'),
});
export type ReportFrame = z.infer<typeof ReportFrame>;

/** What to do to one frame. */
export const FrameCorrections = z.strictObject({
  frame: z.string().describe('name of the frame'),
  steps: z.array(Correction).min(1).describe('in the order in which to do them'),
});
export type FrameCorrections = z.infer<typeof FrameCorrections>;

/** A frame together with what to do to it; nothing: an empty list. */
export type CorrectedFrame = ReportFrame & { corrections: Correction[] };

/** One sitter's frames inside one set-up, told apart by clothing and skin statistics only. */
export const Sitter = z.object({
  id: z.string(),
  frames: z.array(z.string()),
  faceLevelStops: levelStops().nullable(),
  spreadStops: stops().nullable(),
});
export type Sitter = z.infer<typeof Sitter>;

export const SetupBaseline = z.object({
  subjectLevelStops: levelStops().nullable(),
  subjectSpreadStops: stops().nullable().describe('robust standard deviation of the frames about the baseline'),
  backgroundLevelStops: levelStops().nullable(),
  personToBackgroundStops: stops().nullable(),
  sideToSideStops: stops().nullable(),
  faceToLowerBodyStops: stops().nullable(),
  faceToLowerBodyLightStops: stops().nullable(),
  castMired: z.number().nullable(),
  castDuv: z.number().nullable(),
  fNumber: z.number().nullable(),
  exposureTimeSeconds: z.number().nullable(),
  iso: z.number().nullable(),
  ev100: z.number().nullable(),
});
export type SetupBaseline = z.infer<typeof SetupBaseline>;

export const SetupChange = z.object({
  fromSetup: z.string(),
  levelStops: stops().nullable(),
  settingsStops: stops().nullable(),
  lightStops: stops().nullable(),
  lightThirdStopSteps: z.number().int().nullable().describe('third-stop steps to add to the light to undo the change'),
  sideToSideStops: stops().nullable(),
  personToBackgroundStops: stops().nullable(),
  castMired: z.number().nullable(),
  fallOffStops: stops()
    .nullable()
    .describe(
      'how much more light falls off from face to legs: skin of the same sitters, else their whole bodies; null: not told',
    ),
  because: z.string(),
});
export type SetupChange = z.infer<typeof SetupChange>;

/** Light that moves steadily through a set-up: a lamp that warms up, a battery that tires. */
export const LightDrift = z.object({
  stopsPer100Frames: stops().describe('positive: the light grows'),
  errorStopsPer100Frames: stops().min(0).describe('standard error of it'),
  totalStops: stops().describe('from the first to the last frame of the drift'),
  firstFrame: z.string(),
  lastFrame: z.string(),
  witnesses: z
    .enum(['both', 'wall', 'subject'])
    .describe('who tells it: the wall, the sitters against themselves, or both'),
  because: z.string(),
});
export type LightDrift = z.infer<typeof LightDrift>;

/** Exposure that the camera chose anew from frame to frame though the light stood. */
export const ExposureAutomation = z.object({
  frames: count().describe('frames of the set-up that the camera exposed by itself'),
  settings: z.array(z.enum(['aperture', 'shutter', 'ISO'])).describe('what it moved'),
  program: z.string().nullable().describe('as the files name it; null: an automatic ISO, told by its values'),
  spreadStops: stops().min(0).describe('robust standard deviation of what the settings do to the level'),
  rangeStops: stops().min(0).describe('largest minus smallest of the same'),
  lightSpreadStops: stops().min(0).describe('robust standard deviation of the light meanwhile'),
  because: z.string(),
});
export type ExposureAutomation = z.infer<typeof ExposureAutomation>;

export const Setup = z.object({
  id: z.string(),
  description: z.string(),
  frames: z.array(z.string()),
  firstFrame: z.string(),
  lastFrame: z.string(),
  representativeFrame: z.string().nullable(),
  baseline: SetupBaseline,
  sitters: z.array(Sitter),
  changeFromPrevious: SetupChange.nullable(),
  drift: LightDrift.nullable(),
  automation: ExposureAutomation.nullable(),
  /** The frames as they came out: medians with spreads. What a saved look is made of. */
  figures: LookFigures,
  /** Against the plan's saved look; null without one. */
  look: LookComparison.nullable(),
});
export type Setup = z.infer<typeof Setup>;

/** The clock of one camera against that of another. */
export const CameraClock = z.object({
  camera: z.string(),
  /** The camera with most frames, whose clock is taken as right. */
  against: z.string(),
  frames: count(),
  from: z.enum(['plan', 'found', 'unknown']).describe('who tells: the plan, the frames, or nobody'),
  aheadSeconds: z
    .number()
    .nullable()
    .describe('positive: ahead; taken off before the frames are ordered; null: not known'),
  uncertaintySeconds: z.number().min(0).nullable().describe('standard error; null: not known'),
  because: z.string(),
});
export type CameraClock = z.infer<typeof CameraClock>;

export const ShootSummary = z.object({
  frames: count(),
  consistent: count(),
  check: count(),
  off: count(),
  unreadable: count(),
  consistentShare: share(),
  flagCounts: z.partialRecord(FlagCode, count()),
  findings: z.array(z.string()).describe('what matters most, in plain sentences'),
  light: z.object({
    kind: z.enum(['flash', 'continuous']),
    shutterWeight: z.number().describe('how much of a change of shutter counts: 0 flash, 1 continuous, between: mixed'),
    ambientShare: share()
      .nullable()
      .describe('share of continuous light beside the flash at the usual shutter; null: none told'),
    because: z.string(),
  }),
  toneResponse: z.string().describe('which tone responses the numbers went through, and what that means'),
  cautions: z.array(z.string()),
  notes: z.array(z.string()).describe('how the shoot stands to its plan and look, and on what it was judged'),
  /** With several cameras: each one's clock against that of the camera with most frames. */
  clocks: z.array(CameraClock),
  /** Files that are another rendering of a frame's exposure (the camera's JPEG beside its raw) and so are no frame of their own. */
  otherRenderings: z.array(z.object({ frame: z.string(), rendering: z.string() })),
});
export type ShootSummary = z.infer<typeof ShootSummary>;

export const ShootReport = z.object({
  schemaVersion: z.literal(1),
  shoot: z.object({ id: z.string(), name: z.string(), measuringVersions: z.array(z.string()) }),
  plan: ShootPlan,
  setups: z.array(Setup),
  frames: z.array(ReportFrame),
  corrections: z.array(FrameCorrections).describe('frames that want something done, in order of the frames'),
  planCompliance: z.array(PlanCompliance).describe('one for each set-up of the plan'),
  summary: ShootSummary,
});
export type ShootReport = z.infer<typeof ShootReport>;
