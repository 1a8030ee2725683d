import type { Face } from '../../src/contracts/people.js';
import type { ToneResponse } from '../../src/contracts/tone.js';
import { linearFromLevelStops } from '../../src/photometry/stops.js';
import { responseDoubtStops } from '../../src/photometry/tone-response.js';
import type { FoundPerson } from '../people/port.js';
import { HALF_WIDTH_90 } from './people-light.js';
import { chromaticityOf } from './region-chroma.js';
import type { FaceRegion } from './region-face.js';
import { outlineOf } from './region-outline.js';
import { clippedShareOver, meanRgbOver } from './region-pixels.js';
import { restoredLight, type RestoredLight } from './region-restored.js';
import { codesDoubtStops, LOST_SHARE, skinLevelOf, type SkinLevel } from './region-skin-level.js';
import type { WorkingImage } from './working-image.js';

/** The dark side of a face is not told where rounding to codes alone makes it as uncertain as this: under about one and a half codes. */
const LARGEST_CODES_DOUBT_STOPS = 0.25;

export interface MeasuredFace {
  face: Face;
  skin: SkinLevel;
  limits: string[];
}

/** Levels of one face's skin, whole and by side; what could not be told stands in `limits`. */
export function measureFace(
  image: WorkingImage,
  region: FaceRegion,
  found: NonNullable<FoundPerson['face']>,
  toneResponse: ToneResponse,
): MeasuredFace {
  const { widthPx, heightPx } = image;
  const light = restoredLight(image, region.skin);
  const skin = skinLevelOf(image, light, region.skin, region.core);
  const sides = sidesOf(image, light, region, toneResponse);
  const limits = [...(sides.limit === null ? [] : [sides.limit])];
  if (skin.isAtLeast && skin.levelStops !== null) {
    const share = Math.round(100 * skin.lostShare);
    limits.unshift(`face clipped (${share} % of its skin): its level is at least ${skin.levelStops.toFixed(1)} stops`);
  }
  const face: Face = {
    box: {
      x: found.boxPx.x / widthPx,
      y: found.boxPx.y / heightPx,
      width: found.boxPx.width / widthPx,
      height: found.boxPx.height / heightPx,
    },
    outline: outlineOf(region.oval, widthPx, heightPx),
    score: Math.max(0, Math.min(1, found.score)),
    levelStops: skin.levelStops,
    levelIsAtLeast: skin.isAtLeast,
    ...sides.measured,
    clippedShare: clippedShareOver(image, region.oval),
    lostShare: skin.lostShare,
    skinChromaticity: chromaticityOf(image, meanRgbOver(image, region.skin)),
    usedPixels: region.skin.length,
  };
  return { face, skin, limits };
}

type Sides = Pick<Face, 'brightSideLevelStops' | 'darkSideLevelStops' | 'sideToSideStops' | 'brightSide'>;

const NO_SIDES: Sides = {
  brightSideLevelStops: null,
  darkSideLevelStops: null,
  sideToSideStops: null,
  brightSide: null,
};

/** Both sides' levels and their difference; in place of the difference the bound that is left where the bright one is clipped or the dark one has no codes. */
function sidesOf(
  image: WorkingImage,
  light: RestoredLight,
  region: FaceRegion,
  toneResponse: ToneResponse,
): { measured: Sides; limit: string | null } {
  const left = skinLevelOf(image, light, region.left, region.left);
  const right = skinLevelOf(image, light, region.right, region.right);
  if (left.levelStops === null || right.levelStops === null) return { measured: NO_SIDES, limit: null };
  const leftIsBright = left.levelStops >= right.levelStops;
  const bright = leftIsBright ? left : right;
  const darkSideLevelStops = leftIsBright ? right.levelStops : left.levelStops;
  const brightSideLevelStops = leftIsBright ? left.levelStops : right.levelStops;
  const sideToSideStops = brightSideLevelStops - darkSideLevelStops;
  const clipped = bright.lostShare > LOST_SHARE.useless;
  const codesStops = codesDoubtStops(image, linearFromLevelStops(darkSideLevelStops));
  const doubt = Math.hypot(responseDoubtStops(toneResponse, brightSideLevelStops, darkSideLevelStops), codesStops);
  const told = `side to side is at least ${Math.max(0, sideToSideStops - HALF_WIDTH_90 * doubt).toFixed(1)} stops`;
  const limit = clipped
    ? `bright side of the face clipped (${Math.round(100 * bright.lostShare)} % of its skin): ${told}`
    : codesStops > LARGEST_CODES_DOUBT_STOPS
      ? `dark side of the face within the last codes of the file: ${told}`
      : null;
  return {
    limit,
    measured: {
      brightSideLevelStops,
      darkSideLevelStops,
      sideToSideStops: limit === null ? sideToSideStops : null,
      brightSide: leftIsBright ? 'image-left' : 'image-right',
    },
  };
}
