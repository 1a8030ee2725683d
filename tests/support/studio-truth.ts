import { PART, type StudioRender } from './studio.js';

/**
 * Truth formed from a render's own light, parts and reflectance (light / white), without any model:
 * which pixels are bare skin of face and of legs, how bright they are, and what light falls on them.
 */
export interface SkinTruth {
  faceSkin: number[];
  /** Hips to ankles. */
  legSkin: number[];
  legs: number[];
  /** Bare share of the legs. */
  skinShare: number;
  /** Brightness: face skin minus leg skin. Null when no leg skin shows. */
  skinToSkinStops: number | null;
  /** Light on the face minus light on the bare leg skin. Null when none shows. */
  lightOnSkinStops: number | null;
  /** Light on the face minus light on all of the legs, and brightness likewise (face skin, all of the legs). */
  lightStops: number;
  brightnessStops: number;
}

/** Skin of the figures against their cloth, in log2(R/G) and log2(B/G) of reflectance: all skins lie beyond, all trousers short of it. */
const SKIN_RG = 0.58;
const SKIN_BG = -0.25;
/** Face pixels within this many stops of the face's median reflectance are skin; eyes, lashes and strong glints are not. */
const FACE_STOPS = 1.4;
/** Fewer bare pixels than this share of the legs are stray. */
const LEAST_SHARE = 0.02;

function luminance(render: StudioRender, i: number): number {
  return (
    0.2126 * render.linearRgb[i * 3]! + 0.7152 * render.linearRgb[i * 3 + 1]! + 0.0722 * render.linearRgb[i * 3 + 2]!
  );
}

function mean(values: readonly number[]): number {
  return values.reduce((sum, v) => sum + v, 0) / values.length;
}

export function skinTruthOf(render: StudioRender): SkinTruth {
  const chroma = (i: number) => ({
    rg: Math.log2(render.linearRgb[i * 3]! / render.linearRgb[i * 3 + 1]!),
    bg: Math.log2(render.linearRgb[i * 3 + 2]! / render.linearRgb[i * 3 + 1]!),
  });
  const isSkin = (i: number) => {
    const { rg, bg } = chroma(i);
    return rg > SKIN_RG && bg < SKIN_BG && luminance(render, i) > 1e-4;
  };
  const face: number[] = [];
  const legs: number[] = [];
  render.parts.forEach((part, i) => {
    if (part === PART.face && render.white[i]! > 0) face.push(i);
    if (part === PART.upperLegs || part === PART.lowerLegs) legs.push(i);
  });
  const reflectance = (i: number) => luminance(render, i) / render.white[i]!;
  const middle = face.map(reflectance).sort((a, b) => a - b)[face.length >> 1]!;
  const faceSkin = face.filter((i) => Math.abs(Math.log2(reflectance(i) / middle)) < FACE_STOPS && chroma(i).rg > 0.2);
  let legSkin = legs.filter(isSkin);
  if (legSkin.length < LEAST_SHARE * legs.length) legSkin = [];
  const y = (pixels: number[]) => mean(pixels.map((i) => luminance(render, i)));
  const white = (pixels: number[]) => mean(pixels.map((i) => render.white[i]!));
  const lightOnFace = white(face);
  return {
    faceSkin,
    legSkin,
    legs,
    skinShare: legSkin.length / Math.max(1, legs.length),
    skinToSkinStops: legSkin.length ? Math.log2(y(faceSkin) / y(legSkin)) : null,
    lightOnSkinStops: legSkin.length ? Math.log2(lightOnFace / white(legSkin)) : null,
    lightStops: Math.log2(lightOnFace / white(legs)),
    brightnessStops: Math.log2(y(faceSkin) / y(legs)),
  };
}
