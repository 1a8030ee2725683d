import { z } from 'zod';
import { Box, Chromaticity, Outline, count, levelStops, share, stops } from './quantities.js';

export const LegPart = z.enum(['thigh-left', 'thigh-right', 'shin-left', 'shin-right', 'foot-left', 'foot-right']);
export type LegPart = z.infer<typeof LegPart>;

export const Face = z.object({
  box: Box,
  outline: Outline,
  score: z.number().min(0).max(1),
  /** Trimmed mean of the face's skin, in linear light, as a level. Null when too few usable pixels. */
  levelStops: levelStops().nullable(),
  /** Too much of the skin is past the top of the file: the level is a lower bound. */
  levelIsAtLeast: z.boolean(),
  brightSideLevelStops: levelStops().nullable(),
  darkSideLevelStops: levelStops().nullable(),
  /** Bright side of the face minus dark side, >= 0. Null too where only a bound is known; `limits` of the person says it. */
  sideToSideStops: stops().min(0).nullable(),
  brightSide: z.enum(['image-left', 'image-right']).nullable(),
  clippedShare: share(),
  /** Share of the skin whose light is past the top of the file and cannot be restored from an unclipped channel. */
  lostShare: share(),
  skinChromaticity: Chromaticity.nullable(),
  usedPixels: count(),
});
export type Face = z.infer<typeof Face>;

export const LowerBody = z.object({
  outline: Outline,
  /** One level for everything seen from hips to ankles, cloth included. */
  levelStops: levelStops().nullable(),
  skinLevelStops: levelStops().nullable(),
  clothLevelStops: levelStops().nullable(),
  /** Share of the lower body's pixels whose chromaticity is that of the face's skin. */
  skinShare: share(),
  clippedShare: share(),
  partsSeen: z.array(LegPart),
  parts: z.array(z.object({ part: LegPart, levelStops: levelStops().nullable(), skinShare: share(), pixels: count() })),
  usedPixels: count(),
});
export type LowerBody = z.infer<typeof LowerBody>;

/** Statistics of clothing and skin, to tell one sitter's frames from another's inside a set-up. Never an identity. */
export const Appearance = z.object({
  /** log2(R/G), log2(B/G) of linear colour: unchanged by the amount of light. */
  torsoLogRg: z.number().nullable(),
  torsoLogBg: z.number().nullable(),
  torsoMinusFaceStops: stops().nullable(),
  skinLogRg: z.number().nullable(),
  skinLogBg: z.number().nullable(),
});
export type Appearance = z.infer<typeof Appearance>;

export const Person = z.object({
  /** True for the person the frame is about: the largest, most central one. */
  main: z.boolean(),
  box: Box,
  face: Face.nullable(),
  lowerBody: LowerBody.nullable(),
  /** Torso (shoulders to hips) level, cloth and all. */
  torsoLevelStops: levelStops().nullable(),
  /** Whole person inside the mask. */
  bodyLevelStops: levelStops().nullable(),
  /** Brightness: face skin minus all of the lower body, cloth included. Positive: the lower body is darker. */
  faceToLowerBodyStops: stops().nullable(),
  /** Light: face skin minus leg skin; null unless enough skin shows, unclipped. */
  faceToLowerBodyLightStops: stops().nullable(),
  faceToLowerBodyLightUncertaintyStops: stops().min(0).nullable(),
  /** What the lower body showed; null when no lower body is in the frame. */
  basis: z.enum(['skin', 'mixed', 'clothing']).nullable(),
  confidence: z.number().min(0).max(1),
  /** What could not be told of this person, or only as a bound, and why. */
  limits: z.array(z.string()),
  /** Level against height inside the mask, head (0) to feet (1) of the visible person. */
  profile: z.array(z.object({ heightShare: share(), levelStops: levelStops().nullable() })),
  appearance: Appearance,
});
export type Person = z.infer<typeof Person>;

export const Background = z.object({
  /** Beside and behind the main person (the whole frame without people when nobody is found). */
  levelStops: levelStops().nullable(),
  personToBackgroundStops: stops()
    .nullable()
    .describe('main person face (or body) minus background; positive: background darker'),
  chromaticity: Chromaticity.nullable(),
  share: share(),
});
export type Background = z.infer<typeof Background>;

export const Colour = z.object({
  /** The frame's neutral estimate and its cast against D65. */
  neutral: z.object({
    chromaticity: Chromaticity.nullable(),
    kelvin: z.number().nullable(),
    mired: z.number().nullable(),
    duv: z.number().nullable(),
    restsOn: z.string(),
  }),
  skinChromaticity: Chromaticity.nullable(),
  skinMired: z.number().nullable(),
  skinDuv: z.number().nullable(),
  backgroundMired: z.number().nullable(),
  backgroundDuv: z.number().nullable(),
});
export type Colour = z.infer<typeof Colour>;
