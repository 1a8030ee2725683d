import type { FrameMeasurement } from '../../contracts/measurement.js';
import type { Face, LowerBody, Person } from '../../contracts/people.js';
import { responseDoubtStops } from '../../photometry/tone-response.js';
import type { ToneResponse } from '../../contracts/tone.js';

/**
 * The same measurement with every level moved through `light` (monotone, stops to stops) and every difference formed
 * again from the moved levels. Averages were formed before the move; over the small spread of a region that is the
 * same to the second order. The sentences of `limits` keep their figures, bounds to a tenth of a stop.
 */
export function relevel(
  measurement: FrameMeasurement,
  light: (levelStops: number) => number,
  toneResponse: ToneResponse,
): FrameMeasurement {
  const level = (stops: number | null): number | null => (stops === null ? null : light(stops));
  const main = measurement.people.find((p) => p.main);
  const subject = main?.face?.levelStops ?? main?.bodyLevelStops ?? null;
  const { tone, background } = measurement;
  const difference = (of: number | null, from: number | null, otherwise: number | null): number | null =>
    of === null || from === null ? otherwise : light(of) - light(from);
  return {
    ...measurement,
    toneResponse,
    tone: {
      ...tone,
      percentilesStops: {
        p1: level(tone.percentilesStops.p1),
        p5: level(tone.percentilesStops.p5),
        p25: level(tone.percentilesStops.p25),
        p50: level(tone.percentilesStops.p50),
        p75: level(tone.percentilesStops.p75),
        p95: level(tone.percentilesStops.p95),
        p99: level(tone.percentilesStops.p99),
      },
      logAverageLevelStops: light(tone.logAverageLevelStops),
      meanLevelStops: level(tone.meanLevelStops),
    },
    people: measurement.people.map((person) => relevelPerson(person, level, measurement.toneResponse, toneResponse)),
    background: {
      ...background,
      levelStops: level(background.levelStops),
      personToBackgroundStops: difference(subject, background.levelStops, background.personToBackgroundStops),
    },
  };
}

type LevelMap = (stops: number | null) => number | null;

function relevelPerson(person: Person, level: LevelMap, before: ToneResponse, after: ToneResponse): Person {
  const { face, lowerBody, appearance } = person;
  const moved = {
    face: face && relevelFace(face, level),
    lowerBody: lowerBody && relevelLowerBody(lowerBody, level),
    torsoLevelStops: level(person.torsoLevelStops),
  };
  const faceLevel = moved.face?.levelStops ?? null;
  const minus = (a: number | null, b: number | null) => (a === null || b === null ? null : a - b);
  const skin = minus(faceLevel, moved.lowerBody?.skinLevelStops ?? null);
  const light = person.faceToLowerBodyLightStops === null ? null : withShift(person, skin);
  return {
    ...person,
    ...moved,
    bodyLevelStops: level(person.bodyLevelStops),
    faceToLowerBodyStops: minus(faceLevel, moved.lowerBody?.levelStops ?? null),
    faceToLowerBodyLightStops: light,
    faceToLowerBodyLightUncertaintyStops: withOtherResponse(person, moved, before, after),
    profile: person.profile.map((p) => ({ ...p, levelStops: level(p.levelStops) })),
    appearance: {
      ...appearance,
      torsoMinusFaceStops: minus(moved.torsoLevelStops, faceLevel) ?? appearance.torsoMinusFaceStops,
    },
  };
}

/** The light difference may carry a correction over plain skin-to-skin; that correction stays. */
function withShift(person: Person, skinDifferenceStops: number | null): number | null {
  const before = person.faceToLowerBodyLightStops;
  const face = person.face?.levelStops ?? null;
  const skin = person.lowerBody?.skinLevelStops ?? null;
  if (before === null || face === null || skin === null || skinDifferenceStops === null) return before;
  return skinDifferenceStops + (before - (face - skin));
}

/** Half-width of the 90 % interval holds 1.645 standard deviations, of which the response's is one among others. */
const HALF_WIDTH_90 = 1.645;

/** Face and leg skin of one person differ by about this (inference from site-by-site skin tables); no response mends that. */
const SKIN_STOPS = 0.3;

/** The light difference's interval with the old response's part taken out and the new one's put in. */
function withOtherResponse(
  person: Person,
  moved: Pick<Person, 'face' | 'lowerBody'>,
  before: ToneResponse,
  after: ToneResponse,
): number | null {
  const width = person.faceToLowerBodyLightUncertaintyStops;
  const part = ({ face, lowerBody }: Pick<Person, 'face' | 'lowerBody'>, response: ToneResponse) => {
    const [a, b] = [face?.levelStops ?? null, lowerBody?.skinLevelStops ?? null];
    return a === null || b === null ? 0 : HALF_WIDTH_90 * responseDoubtStops(response, a, b);
  };
  if (width === null) return null;
  const rest = Math.sqrt(Math.max(0, width ** 2 - part(person, before) ** 2));
  return Math.max(Math.min(width, SKIN_STOPS), Math.hypot(rest, part(moved, after)));
}

function relevelFace(face: Face, level: LevelMap): Face {
  const bright = level(face.brightSideLevelStops);
  const dark = level(face.darkSideLevelStops);
  return {
    ...face,
    levelStops: level(face.levelStops),
    brightSideLevelStops: bright,
    darkSideLevelStops: dark,
    // Null although both sides have a level: only a bound was known, and still is.
    sideToSideStops:
      bright === null || dark === null || face.sideToSideStops === null
        ? face.sideToSideStops
        : Math.max(0, bright - dark),
  };
}

function relevelLowerBody(lower: LowerBody, level: LevelMap): LowerBody {
  return {
    ...lower,
    levelStops: level(lower.levelStops),
    skinLevelStops: level(lower.skinLevelStops),
    clothLevelStops: level(lower.clothLevelStops),
    parts: lower.parts.map((p) => ({ ...p, levelStops: level(p.levelStops) })),
  };
}
