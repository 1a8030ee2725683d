import type { FrameMeasurement } from '../contracts/measurement.js';
import type { Person } from '../contracts/people.js';
import type { JudgedFrameInput } from './input.js';

/** What the subject's level was read from, best first. */
export type SubjectBasis = 'face' | 'body' | 'frame';

/** Log-chromaticities and a ratio that tell one sitter's clothing and skin from another's; see appearance.ts. */
export interface AppearanceFacts {
  torsoMinusSkinLogRg: number | null;
  torsoMinusSkinLogBg: number | null;
  torsoMinusFaceStops: number | null;
  skinLogRg: number | null;
  skinLogBg: number | null;
  /** log2 of the face's height as a share of the frame; what a crop shows of the clothes moves with it. */
  cropLog2: number | null;
}

/** One measured frame, reduced to what judging needs. Levels are stops re mid-grey, as measured. */
export interface FrameFacts {
  /** Place among all frames of the shoot, in time. */
  place: number;
  name: string;
  input: JudgedFrameInput;
  measurement: FrameMeasurement;
  /** When it was made, with what its camera's clock runs ahead taken off. */
  epochMs: number | null;
  clockAheadMs: number;
  main: Person | null;
  levels: Record<SubjectBasis, number | null>;
  basis: SubjectBasis;
  subjectLevelStops: number | null;
  /** Null where the wall is too small, too dark or too near clipping to tell a change of light. */
  backgroundLevelStops: number | null;
  /** The wall is too dark to read: its level is this at most. Null where it is readable or not there. */
  darkBackgroundAtMostStops: number | null;
  personToBackgroundStops: number | null;
  /** How much less light the legs get than the face, skin against skin; null where no leg skin shows. */
  fallOffStops: number | null;
  /** Slope of the body's levels from head to feet, in stops a body height, clothes and all; null without legs in the frame. */
  profileSlopeStops: number | null;
  sideToSideStops: number | null;
  /** 1: the image-left half of the face is the bright one, -1: the right one. Null where the two hardly differ. */
  brightSide: 1 | -1 | null;
  av: number | null;
  tv: number | null;
  sv: number | null;
  flashFired: boolean | null;
  autoExposure: boolean;
  focalLog2: number | null;
  /** log2 of the face's height as a share of the frame: how close the crop is. */
  cropLog2: number | null;
  backgroundMired: number | null;
  backgroundDuv: number | null;
  skinMired: number | null;
  skinDuv: number | null;
  neutralMired: number | null;
  neutralDuv: number | null;
  appearance: AppearanceFacts;
  /** Standard uncertainty of one stop of difference, from the tone response. */
  uncertaintyPerStop: number;
}

/** A wall under this share of the frame is too small to stand for the light. Ours. */
const LEAST_BACKGROUND_SHARE = 0.03;
/** Below this an 8-bit file has too few codes, above it the wall nears clipping (white is +2.47). Ours. */
const BACKGROUND_READABLE_STOPS = { from: -6.5, to: 2.1 } as const;

const finite = (value: number | null | undefined): number | null =>
  value !== null && value !== undefined && Number.isFinite(value) ? value : null;

const minus = (a: number | null | undefined, b: number | null | undefined): number | null => {
  const x = finite(a);
  const y = finite(b);
  return x === null || y === null ? null : x - y;
};

/** The person the frame is about; the first where none is marked. */
export function mainPerson(measurement: FrameMeasurement): Person | null {
  return measurement.people.find((person) => person.main) ?? measurement.people[0] ?? null;
}

/** The wall's level, or the bound that it lies under. */
function backgroundOf(
  measurement: FrameMeasurement,
): Pick<FrameFacts, 'backgroundLevelStops' | 'darkBackgroundAtMostStops'> {
  const { levelStops, share } = measurement.background;
  const { from, to } = BACKGROUND_READABLE_STOPS;
  if (levelStops === null || measurement.people.length === 0 || share < LEAST_BACKGROUND_SHARE || levelStops > to)
    return { backgroundLevelStops: null, darkBackgroundAtMostStops: null };
  return levelStops < from
    ? { backgroundLevelStops: null, darkBackgroundAtMostStops: from }
    : { backgroundLevelStops: levelStops, darkBackgroundAtMostStops: null };
}

/** Halves of a face that differ by less are lit alike: pose and features make up so much. Ours. */
const LEAST_SIDED_STOPS = 0.6;

function brightSideOf(person: Person | null): 1 | -1 | null {
  const face = person?.face;
  if (!face || face.brightSide === null || (face.sideToSideStops ?? 0) < LEAST_SIDED_STOPS) return null;
  return face.brightSide === 'image-left' ? 1 : -1;
}

function cropOf(person: Person | null): number | null {
  const height = person?.face?.box.height ?? 0;
  return height > 0 ? Math.log2(height) : null;
}

/** Fewer of a profile's heights tell no slope. Ours. */
const LEAST_HEIGHTS = 6;

/** Least-squares slope; the same body in the same clothes has the same one, but for the light. */
function profileSlopeOf(person: Person | null): number | null {
  if (person === null || person.lowerBody === null) return null;
  let [count, sumX, sumY, sumXX, sumXY] = [0, 0, 0, 0, 0];
  for (const { heightShare: x, levelStops: y } of person.profile) {
    if (y === null || !Number.isFinite(y)) continue;
    count++;
    sumX += x;
    sumY += y;
    sumXX += x * x;
    sumXY += x * y;
  }
  const spread = count * sumXX - sumX * sumX;
  return count < LEAST_HEIGHTS || spread <= 0 ? null : (count * sumXY - sumX * sumY) / spread;
}

function appearanceOf(person: Person | null): AppearanceFacts {
  const seen = person?.appearance;
  return {
    torsoMinusSkinLogRg: minus(seen?.torsoLogRg, seen?.skinLogRg),
    torsoMinusSkinLogBg: minus(seen?.torsoLogBg, seen?.skinLogBg),
    torsoMinusFaceStops: finite(seen?.torsoMinusFaceStops),
    skinLogRg: finite(seen?.skinLogRg),
    skinLogBg: finite(seen?.skinLogBg),
    cropLog2: cropOf(person),
  };
}

/**
 * Reduces one frame.
 *
 * @param place its position in time among all frames
 * @param clockAheadMs how far its camera's clock runs ahead, which is taken off its time
 */
export function factsOf(
  input: JudgedFrameInput,
  measurement: FrameMeasurement,
  place: number,
  clockAheadMs = 0,
): FrameFacts {
  const { exposure, colour, background } = measurement;
  const main = mainPerson(measurement);
  const levels = {
    face: finite(main?.face?.levelStops),
    body: finite(main?.bodyLevelStops),
    frame: finite(measurement.tone.logAverageLevelStops),
  };
  const basis: SubjectBasis = levels.face !== null ? 'face' : levels.body !== null ? 'body' : 'frame';
  const focal = exposure.focalLength35mmMm ?? exposure.focalLengthMm;
  return {
    place,
    name: input.name,
    input,
    measurement,
    epochMs: minus(exposure.capturedAt?.epochMs, clockAheadMs),
    clockAheadMs,
    main,
    levels,
    basis,
    subjectLevelStops: levels[basis],
    ...backgroundOf(measurement),
    personToBackgroundStops: finite(background.personToBackgroundStops),
    fallOffStops: finite(main?.faceToLowerBodyLightStops),
    profileSlopeStops: profileSlopeOf(main),
    sideToSideStops: finite(main?.face?.sideToSideStops),
    brightSide: brightSideOf(main),
    av: finite(exposure.av),
    tv: finite(exposure.tv),
    sv: finite(exposure.sv),
    flashFired: exposure.flash?.fired ?? null,
    autoExposure: isAutoExposure(measurement),
    focalLog2: focal === null ? null : Math.log2(focal),
    cropLog2: cropOf(main),
    backgroundMired: finite(colour.backgroundMired),
    backgroundDuv: finite(colour.backgroundDuv),
    skinMired: finite(colour.skinMired),
    skinDuv: finite(colour.skinDuv),
    neutralMired: finite(colour.neutral.mired),
    neutralDuv: finite(colour.neutral.duv),
    appearance: appearanceOf(main),
    uncertaintyPerStop: measurement.toneResponse.uncertaintyStops,
  };
}

function isAutoExposure(measurement: FrameMeasurement): boolean {
  const { exposureProgram, exposureMode } = measurement.exposure;
  if (exposureMode !== null && /auto/i.test(exposureMode)) return true;
  return (
    exposureProgram !== null && /priority|normal|program|creative|action|portrait|landscape/i.test(exposureProgram)
  );
}
