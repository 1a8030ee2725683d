import { z } from 'zod';
import { positive, stops } from './quantities.js';

/** What `stopledger plan` prints with `--json`: set-up arithmetic. Lengths in metres, differences in stops. */

const metres = () => z.number().positive().describe('metres');
const signedMetres = () => z.number().describe('metres');
const powerShare = () => z.number().positive().describe('share of full power; above 1 is more than there is');
const cautions = { cautions: z.array(z.string()) };
/** As engraved; null where no camera scale has it. The `exact...` beside it is what the arithmetic uses. */
const nominal = () => z.number().positive().nullable().describe('as engraved; null off the scale');

/** How far to turn a light. */
export const LightTurn = z.object({
  direction: z.enum(['up', 'down', 'leave']),
  turnStops: stops(),
  /** Nearest whole number of third-stop steps. */
  thirdStopSteps: z.number().int(),
  /** What is left after those steps. */
  remainderStops: stops(),
  /** So many times the light. */
  lightRatio: positive(),
});
export type LightTurn = z.infer<typeof LightTurn>;

export const PowerSettingNamed = z.object({
  wholeStopShare: powerShare(),
  extraThirdStopSteps: z.number().int().min(0).max(2),
});

export const PowerTurn = z.object({
  fromShare: powerShare(),
  toShare: powerShare(),
  /** Nearest setting in third-stop steps; null when that is more than full power. */
  setting: PowerSettingNamed.nullable(),
  /** How far `toShare` lies above full power; null when it does not. */
  beyondFullStops: stops().nullable(),
});
export type PowerTurn = z.infer<typeof PowerTurn>;

export const FNumberSetting = z.object({ fNumber: nominal(), exactFNumber: positive() });
export type FNumberSetting = z.infer<typeof FNumberSetting>;

export const MeterArithmetic = z.object({
  kind: z.literal('meter'),
  metered: FNumberSetting.extend({
    ev100: z.number().nullable(),
    /** Incident light that it was read in, and the meter's constant in lx s; null for other readings. */
    lux: positive().nullable(),
    meterConstantC: positive().nullable(),
    exactExposureTimeSeconds: positive().nullable(),
    exactIso: positive().nullable(),
  }),
  target: FNumberSetting,
  turn: LightTurn,
  power: PowerTurn.nullable(),
  /** Leaving the light: the ISO that makes the target aperture right; null when no ISO was told. */
  insteadIso: z.object({ iso: nominal(), exactIso: positive() }).nullable(),
  ...cautions,
});
export type MeterArithmetic = z.infer<typeof MeterArithmetic>;

export const TradeRow = z.object({
  fNumber: nominal(),
  exactFNumber: positive(),
  exposureTimeSeconds: nominal(),
  exactExposureTimeSeconds: positive(),
  iso: nominal(),
  exactIso: positive(),
  /** What was changed to keep the exposure; null: nothing was. */
  keptBy: z.enum(['aperture', 'shutter', 'iso', 'power']).nullable(),
  /** To turn the flash; 0 unless `keptBy` is power. */
  powerStops: stops(),
  /**
   * What the planned light's exposure changes by in all, with the settings as engraved: 0 when it is kept. Null for
   * flash past the sync speed: it differs over the frame.
   */
  levelChangeStops: stops().nullable(),
  /** What continuous light in the same picture changes by. */
  continuousChangeStops: stops(),
  /** The shutter is faster than the sync speed: part of the frame gets no flash. */
  fasterThanSync: z.boolean(),
});
export type TradeRow = z.infer<typeof TradeRow>;

export const TradeArithmetic = z.object({
  kind: z.literal('trade'),
  light: z.enum(['flash', 'continuous']),
  exactSyncSeconds: positive().nullable(),
  from: z.object({
    fNumber: nominal(),
    exactFNumber: positive(),
    exposureTimeSeconds: nominal(),
    exactExposureTimeSeconds: positive(),
    iso: nominal(),
    exactIso: positive(),
  }),
  ev100: z.number(),
  rows: z.array(TradeRow),
  notes: z.array(z.string()),
  ...cautions,
});
export type TradeArithmetic = z.infer<typeof TradeArithmetic>;

export const GuideArithmetic = z.object({
  kind: z.literal('guide'),
  solvedFor: z.enum(['aperture', 'distance', 'power', 'difference']),
  /** At ISO 100 and full power. */
  guideNumberMetres: positive(),
  guideNumberFeet: positive(),
  exactIso: positive(),
  powerShare: powerShare(),
  setting: PowerSettingNamed.nullable(),
  beyondFullStops: stops().nullable(),
  distanceMetres: metres(),
  aperture: FNumberSetting,
  /** Light at the distance against what the aperture needs; positive is too much. 0 unless all were told. */
  differenceStops: stops(),
  powers: z.array(
    z.object({
      powerShare: powerShare(),
      fromFullStops: stops(),
      apertureAtDistance: FNumberSetting,
      distanceAtApertureMetres: metres(),
    }),
  ),
  ...cautions,
});
export type GuideArithmetic = z.infer<typeof GuideArithmetic>;

export const PlannedLight = z.object({
  shape: z.enum(['point', 'round', 'panel']),
  diameterMetres: metres().nullable(),
  widthMetres: metres().nullable(),
  heightMetres: metres().nullable(),
  /** Level distance from the light's middle to the face. */
  distanceMetres: metres(),
  /** Middle of the light above the face; negative: below. */
  raisedMetres: signedMetres(),
  aim: z.enum(['face', 'waist', 'knee', 'ankle', 'level']),
  /** How wide the light is as the face sees it; null for a point. */
  seenWidthDegrees: z.number().positive().nullable(),
});
export type PlannedLight = z.infer<typeof PlannedLight>;

const place = { place: z.string(), belowFaceMetres: signedMetres() };

export const FallOffArithmetic = z.object({
  kind: z.literal('falloff'),
  light: PlannedLight,
  statureMetres: metres().nullable(),
  places: z.array(
    z.object({
      ...place,
      fromLightMetres: metres(),
      incidenceDegrees: z.number().min(0).max(90),
      /** Light there against the face; null: none arrives. */
      fromFaceStops: stops().nullable(),
    }),
  ),
  /** Straight in front of the light: level against distance. */
  onAxis: z.array(z.object({ distanceMetres: metres(), fromHereStops: stops(), pointLawStops: stops() })),
  ...cautions,
});
export type FallOffArithmetic = z.infer<typeof FallOffArithmetic>;

export const MoveArithmetic = z.object({
  kind: z.literal('move'),
  before: PlannedLight,
  after: PlannedLight,
  statureMetres: metres().nullable(),
  places: z.array(
    z.object({
      ...place,
      beforeFromFaceStops: stops().nullable(),
      afterFromFaceStops: stops().nullable(),
      /** After minus before: positive is nearer to the face's light. */
      changeStops: stops().nullable(),
    }),
  ),
  /** On the face, the light's output unchanged. */
  faceChangeStops: stops(),
  /** To have the face as before. */
  turn: LightTurn,
  power: PowerTurn.nullable(),
  /** Leaving the power: what to set in place of the aperture told; null when none was told. */
  insteadAperture: FNumberSetting.nullable(),
  ...cautions,
});
export type MoveArithmetic = z.infer<typeof MoveArithmetic>;

export const RatioArithmetic = z.object({
  kind: z.literal('ratio'),
  /** What it was reckoned from: each light metered alone, two areas of the subject, or a wanted ratio. */
  from: z.enum(['lights', 'areas', 'wanted']),
  /** (key + fill) : fill, what the picture shows. */
  additiveRatio: z.number().min(1),
  /** key : fill, each metered alone. */
  sourceRatio: z.number().min(0),
  highlightToShadowStops: stops(),
  /** Key metered alone over fill metered alone; null when there is no key. */
  keyOverFillStops: stops().nullable(),
  key: FNumberSetting.nullable(),
  fill: FNumberSetting.nullable(),
  /** Key and fill together: the reading of the lit side. */
  litSide: FNumberSetting.nullable(),
  /** To reach the wanted ratio by the fill light; null unless both readings and a ratio were told. */
  turnFill: LightTurn.nullable(),
  ...cautions,
});
export type RatioArithmetic = z.infer<typeof RatioArithmetic>;

export const PlanArithmetic = z
  .discriminatedUnion('kind', [
    MeterArithmetic,
    TradeArithmetic,
    GuideArithmetic,
    FallOffArithmetic,
    MoveArithmetic,
    RatioArithmetic,
  ])
  .describe('set-up arithmetic of one `stopledger plan` command');
export type PlanArithmetic = z.infer<typeof PlanArithmetic>;
