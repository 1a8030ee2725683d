import type { LowerBody } from '../../src/contracts/people.js';
import type { FoundBody } from '../people/port.js';
import { LightTally } from './light-tally.js';
import { medianOf } from './median.js';
import type { LogChroma } from './region-chroma.js';
import { legSkinOf } from './region-leg-skin.js';
import { LEG_PARTS, legPixelsOf, type LegPixels } from './region-limbs.js';
import { outlineOf } from './region-outline.js';
import {
  clippedShareOver,
  MIN_PIXELS,
  pixelsMarked,
  regionLevelStops,
  TRIM_SHARE,
  type Pixels,
} from './region-pixels.js';
import { restoredLight } from './region-restored.js';
import { skinLevelOf, type SkinLevel } from './region-skin-level.js';
import type { WorkingImage } from './working-image.js';

export interface LowerBodyRegion {
  legs: LegPixels;
  /** Per pixel of `legs.pixels`: 1 skin, 0 cloth. */
  isSkin: Uint8Array;
  skin: Pixels;
  skinLevel: SkinLevel;
  measured: LowerBody;
}

/**
 * Measures one person's lower body, hips to ankles inside the mask; null when it is not in the frame.
 * @param person all of the person's pixels, ascending
 * @param faceSkin chromaticity of the same person's face skin; null when no face was found, and then nothing is called skin
 */
export function lowerBodyOf(
  image: WorkingImage,
  body: FoundBody,
  person: Pixels,
  faceSkin: LogChroma | null,
): LowerBodyRegion | null {
  const legs = legPixelsOf(image, body, person);
  if (!legs || legs.pixels.length < MIN_PIXELS) return null;
  const isSkin = legSkinOf(image, legs, faceSkin);
  const skin = pixelsMarked(legs.pixels, isSkin, 1);
  const skinLevel = skinLevelOf(image, restoredLight(image, skin), skin, coreOf(legs, isSkin));
  const cloth = pixelsMarked(legs.pixels, isSkin, 0);
  const pixelsByPart = byPart(legs.pixels, legs.part);
  const footPixelsByPart = byPart(legs.feet.pixels, legs.feet.part);
  const bareByPart = LEG_PARTS.map(() => 0);
  for (let k = 0; k < isSkin.length; k++) if (isSkin[k] === 1) bareByPart[legs.part[k]!]!++;
  const whole = new LightTally();
  const parts = legs.partsSeen.map((part) => {
    const code = LEG_PARTS.indexOf(part);
    const isFoot = part.startsWith('foot');
    const pixels = (isFoot ? footPixelsByPart : pixelsByPart)[code]!;
    const tally = LightTally.over(image.linearY, pixels);
    if (!isFoot) whole.add(tally);
    return {
      part,
      levelStops: regionLevelStops(image, pixels, TRIM_SHARE, tally),
      skinShare: pixels.length === 0 ? 0 : bareByPart[code]! / pixels.length,
      pixels: pixels.length,
    };
  });
  return {
    legs,
    isSkin,
    skin,
    skinLevel,
    measured: {
      outline: outlineOf(legs.pixels, image.widthPx, image.heightPx),
      levelStops: regionLevelStops(image, legs.pixels, 0.005, whole),
      skinLevelStops: skinLevel.levelStops,
      clothLevelStops: regionLevelStops(image, cloth, TRIM_SHARE, skin.length === 0 ? whole : undefined),
      skinShare: skin.length / legs.pixels.length,
      clippedShare: clippedShareOver(image, legs.pixels),
      partsSeen: legs.partsSeen,
      parts,
      usedPixels: legs.pixels.length,
    },
  };
}

/** Pixels of each part, by its place in `LEG_PARTS`. */
function byPart(pixels: Pixels, part: Uint8Array): Pixels[] {
  const counts = new Int32Array(LEG_PARTS.length);
  for (let k = 0; k < part.length; k++) counts[part[k]!]!++;
  const lists = LEG_PARTS.map((_, code) => new Int32Array(counts[code]!));
  counts.fill(0);
  for (let k = 0; k < pixels.length; k++) {
    const code = part[k]!;
    lists[code]![counts[code]!++] = pixels[k]!;
  }
  return lists;
}

/** The half of the bare skin that lies nearest to the bones. */
function coreOf(legs: LegPixels, isSkin: Uint8Array): Pixels {
  const aside = new Float32Array(isSkin.length);
  let count = 0;
  for (let k = 0; k < isSkin.length; k++) if (isSkin[k] === 1) aside[count++] = legs.aside[k]!;
  const middle = medianOf(aside.subarray(0, count));
  const isCore = new Uint8Array(isSkin.length);
  for (let k = 0; k < isSkin.length && middle !== null; k++)
    if (isSkin[k] === 1 && legs.aside[k]! <= middle) isCore[k] = 1;
  return pixelsMarked(legs.pixels, isCore, 1);
}
