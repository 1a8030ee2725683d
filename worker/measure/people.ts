import type { Appearance, Background, Person } from '../../src/contracts/people.js';
import type { ToneResponse } from '../../src/contracts/tone.js';
import { REGION_CODES } from '../../src/contracts/jobs.js';
import type { FoundPerson } from '../people/port.js';
import { measureFace, type MeasuredFace } from './people-face.js';
import { basisOf, faceToLowerBodyLight, type LightEvidence } from './people-light.js';
import { LightTally } from './light-tally.js';
import { backgroundOf } from './region-background.js';
import { chromaticityOf, logChromaOf } from './region-chroma.js';
import { faceRegionOf, type FaceRegion } from './region-face.js';
import { LEG_PARTS, torsoPixelsOf } from './region-limbs.js';
import { lowerBodyOf, type LowerBodyRegion } from './region-lower-body.js';
import { ownersOf, pixelsByOwner } from './region-owners.js';
import {
  boundsOf,
  differenceStops,
  meanRgbOver,
  middleOf,
  placeFrom,
  regionLevelStops,
  type Bounds,
  type Pixels,
} from './region-pixels.js';
import type { WorkingImage } from './working-image.js';

type Rgb = [number, number, number];

export interface MeasuredPeople {
  /** Largest first. */
  people: Person[];
  background: Background;
  /** Mean linear RGB (the file's primaries, unclipped pixels only) of the main person's face skin; null without one. */
  skinRgb: Rgb | null;
  /** Mean linear RGB of the background's pixels. */
  backgroundRgb: Rgb | null;
  /** height x width, values of `REGION_CODES`. */
  regions: Uint8Array;
}

const PROFILE_BINS = 12;
/** A face without a body counts, when sizes are compared, as a person of this many face boxes. */
const FACE_TO_PERSON_AREA = 12;

interface Regions {
  found: FoundPerson;
  index: number;
  pixels: Pixels;
  bounds: Bounds;
  face: FaceRegion | null;
  torso: Pixels;
  lowerBody: LowerBodyRegion | null;
  areaPx: number;
}

/**
 * Measures every found person and the background of the main one, in stops of light.
 *
 * @param image the working image; its linear planes hold light with the tone response undone
 * @param found from the people finder on the same image, in pixels of it
 * @param toneResponse what was undone, for its uncertainty
 * @returns people ordered by area, largest first (ties: as found); all coordinates as shares of the frame
 */
export function measurePeople(
  image: WorkingImage,
  found: readonly FoundPerson[],
  toneResponse: ToneResponse,
): MeasuredPeople {
  const owners = ownersOf(found, image.widthPx, image.heightPx);
  const owned = pixelsByOwner(owners, found.length);
  const all = found
    .map((person, index) => regionsOf(image, person, index, owned[index]!, owners))
    .sort((a, b) => b.areaPx - a.areaPx || a.index - b.index);
  const main = mainOf(all, image);
  const background = backgroundOf(image, found, owners, main?.pixels ?? new Int32Array(0));
  const people = all.map((regions) => personOf(image, regions, regions === main, toneResponse));
  const skinRgb = main?.face ? meanRgbOver(image, main.face.skin) : null;
  const mainPerson = people.find((person) => person.main);
  return {
    people,
    background: {
      levelStops: background.levelStops,
      personToBackgroundStops: mainPerson
        ? differenceStops(mainPerson.face?.levelStops ?? mainPerson.bodyLevelStops, background.levelStops)
        : null,
      chromaticity: chromaticityOf(image, background.rgb),
      share: background.pixels / owners.length,
    },
    skinRgb,
    backgroundRgb: background.rgb,
    regions: paintRegions(owners, all, main),
  };
}

function regionsOf(
  image: WorkingImage,
  found: FoundPerson,
  index: number,
  pixels: Pixels,
  owners: Int16Array,
): Regions {
  const face = faceRegionOf(image, found, owners, index);
  const box = found.face?.boxPx;
  return {
    found,
    index,
    pixels,
    bounds: boundsOf(pixels, image.widthPx, image.heightPx),
    face,
    torso: found.body ? torsoPixelsOf(image, found.body, pixels) : new Int32Array(0),
    lowerBody: found.body ? lowerBodyOf(image, found.body, pixels, face?.chroma ?? null) : null,
    areaPx: Math.max(
      found.body ? pixels.length : 0,
      box ? FACE_TO_PERSON_AREA * box.width * box.height * (found.body ? 0.5 : 1) : 0,
    ),
  };
}

/** The largest, most central person: area, halved for each third of the frame's width that the person stands off centre. */
function mainOf(all: readonly Regions[], image: WorkingImage): Regions | null {
  let best: Regions | null = null;
  let bestWeight = -1;
  for (const regions of all) {
    const { x0, x1 } = regions.bounds;
    const off = Math.abs((x0 + x1 + 1) / 2 / image.widthPx - 0.5);
    const weight = regions.areaPx * 0.5 ** (3 * off);
    if (weight > bestWeight) {
      best = regions;
      bestWeight = weight;
    }
  }
  return best;
}

function personOf(image: WorkingImage, regions: Regions, main: boolean, toneResponse: ToneResponse): Person {
  const { widthPx, heightPx } = image;
  const { bounds, lowerBody } = regions;
  const measuredFace =
    regions.face && regions.found.face ? measureFace(image, regions.face, regions.found.face, toneResponse) : null;
  const face = measuredFace?.face ?? null;
  const lower = lowerBody?.measured ?? null;
  const basis = lower && lowerBody ? basisOf(lower, lowerBody.skin.length) : null;
  const light =
    measuredFace && regions.face && lowerBody && basis
      ? faceToLowerBodyLight(basis, lightEvidence(image, measuredFace, regions.face, lowerBody, toneResponse))
      : { stops: null, uncertaintyStops: null, limit: null };
  const levels = regions.found.body ? levelsOf(image, regions.pixels, bounds) : { profile: [], bodyLevelStops: null };
  const torsoLevelStops = regionLevelStops(image, regions.torso, 0.01);
  return {
    main,
    box: {
      x: bounds.x0 / widthPx,
      y: bounds.y0 / heightPx,
      width: Math.max(0, bounds.x1 + 1 - bounds.x0) / widthPx,
      height: Math.max(0, bounds.y1 + 1 - bounds.y0) / heightPx,
    },
    face,
    lowerBody: lower,
    torsoLevelStops,
    bodyLevelStops: levels.bodyLevelStops,
    faceToLowerBodyStops: differenceStops(face?.levelStops ?? null, lower?.levelStops ?? null),
    faceToLowerBodyLightStops: light.stops,
    faceToLowerBodyLightUncertaintyStops: light.uncertaintyStops,
    basis,
    confidence: confidenceOf(regions, measuredFace),
    limits: [...(measuredFace?.limits ?? []), ...(light.limit === null ? [] : [light.limit])],
    profile: levels.profile,
    appearance: appearanceOf(image, regions, torsoLevelStops, face?.levelStops ?? null),
  };
}

function lightEvidence(
  image: WorkingImage,
  { skin }: MeasuredFace,
  face: FaceRegion,
  lowerBody: LowerBodyRegion,
  toneResponse: ToneResponse,
): LightEvidence {
  const from = face.frame.centre;
  const distanceTo = (pixels: Pixels) => {
    const middle = middleOf(pixels, image.widthPx);
    return middle ? Math.hypot(middle.x - from.x, middle.y - from.y) : 0;
  };
  return {
    face: skin,
    legSkin: lowerBody.skinLevel,
    faceToSkinPx: distanceTo(lowerBody.skin),
    faceToLowerBodyPx: distanceTo(lowerBody.legs.pixels),
    toneResponse,
  };
}

/**
 * Level in equal steps of height from the person's top to bottom, null where the person has too few pixels, and of all of
 * the person.
 * @param pixels ascending
 */
function levelsOf(image: WorkingImage, pixels: Pixels, bounds: Bounds): Pick<Person, 'profile' | 'bodyLevelStops'> {
  const height = bounds.y1 + 1 - bounds.y0;
  const whole = new LightTally();
  let from = 0;
  let rows = 0;
  const profile: Person['profile'] = [];
  for (let bin = 0; bin < PROFILE_BINS; bin++) {
    // Rows to the end of this step: their share of the height, times the steps, is not yet the next whole number.
    while (rows < height && Math.floor((rows / height) * PROFILE_BINS) <= bin) rows++;
    const to = placeFrom(pixels, from, (bounds.y0 + rows) * image.widthPx);
    const members = pixels.subarray(from, to);
    from = to;
    const tally = LightTally.over(image.linearY, members);
    whole.add(tally);
    const levelStops = regionLevelStops(image, members, 0.01, tally);
    profile.push({ heightShare: (bin + 0.5) / PROFILE_BINS, levelStops });
  }
  return { profile, bodyLevelStops: regionLevelStops(image, pixels, 0.005, whole) };
}

function appearanceOf(
  image: WorkingImage,
  regions: Regions,
  torsoLevelStops: number | null,
  faceLevelStops: number | null,
): Appearance {
  const torsoRgb = meanRgbOver(image, regions.torso);
  const torso = torsoRgb && logChromaOf(image, torsoRgb);
  const skin = regions.face?.chroma;
  return {
    torsoLogRg: torso?.rg ?? null,
    torsoLogBg: torso?.bg ?? null,
    torsoMinusFaceStops: differenceStops(torsoLevelStops, faceLevelStops),
    skinLogRg: skin?.rg ?? null,
    skinLogBg: skin?.bg ?? null,
  };
}

/**
 * How far this person's numbers can be relied on, 0..1: the lowest of the models' scores and of the joints' visibility, times
 * the root of how many face-skin pixels there were of 400 (at most 1; a half without a face), times the share of that skin
 * whose light is not lost.
 */
function confidenceOf(regions: Regions, measured: MeasuredFace | null): number {
  const scores = [regions.found.body?.score, regions.lowerBody?.legs.visibility, measured?.face.score].filter(
    (score) => score !== undefined,
  );
  const pixels = measured ? Math.min(1, Math.sqrt(measured.face.usedPixels / 400)) : 0.5;
  const kept = 1 - (measured?.skin.lostShare ?? 0);
  return Math.max(0, Math.min(1, Math.min(...scores, 1) * pixels * kept));
}

function paintRegions(owners: Int16Array, all: readonly Regions[], main: Regions | null): Uint8Array {
  const out = new Uint8Array(owners.length).fill(REGION_CODES.background);
  for (const regions of all)
    paint(out, regions.pixels, regions === main ? REGION_CODES.personOther : REGION_CODES.otherPerson);
  if (!main) return out;
  paint(out, main.torso, REGION_CODES.torso);
  if (main.lowerBody) {
    const { legs, isSkin } = main.lowerBody;
    const isThigh = LEG_PARTS.map((part) => part.startsWith('thigh'));
    const skinCodes = isThigh.map((thigh) => (thigh ? REGION_CODES.thighSkin : REGION_CODES.shinSkin));
    const clothCodes = isThigh.map((thigh) => (thigh ? REGION_CODES.thighCloth : REGION_CODES.shinCloth));
    for (let k = 0; k < legs.pixels.length; k++)
      out[legs.pixels[k]!] = (isSkin[k] ? skinCodes : clothCodes)[legs.part[k]!]!;
    paint(out, legs.feet.pixels, REGION_CODES.foot);
  }
  if (main.face) paint(out, main.face.skin, REGION_CODES.faceSkin);
  return out;
}

function paint(out: Uint8Array, pixels: Pixels, code: number): void {
  for (let k = 0; k < pixels.length; k++) out[pixels[k]!] = code;
}
