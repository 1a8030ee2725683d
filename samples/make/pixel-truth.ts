import { PART } from './studio.js';

/** What one frame truly shows, from the render's own masks. Stops of light; null where the part is not in the frame. */
export interface PixelTruth {
  /** log2 of the mean light on the face, relative to the metered light (a white diffuser reads 1). */
  faceLightStops: number | null;
  /** log2(mean face luminance / 0.18): the face's level, whole face mask. */
  faceLevelStops: number | null;
  /** Share of each part's pixels of the full-length picture that the crop shows, thighs and shins. */
  legsShownShare: number;
  /** Face minus legs: luminance, cloth and all; and the light alone. Null unless most of the legs show. */
  faceToLegsBrightnessStops: number | null;
  faceToLegsLightStops: number | null;
  faceToLowerLegsLightStops: number | null;
  /** Image-left half of the face minus image-right half: the light alone. */
  faceLeftToRightLightStops: number | null;
  /** Share of face pixels whose luminance the sensor cannot hold, before noise. */
  faceOverSensorShare: number | null;
  facePixels: number;
}

interface Mean {
  luminance: number;
  light: number;
  pixels: number;
}

export function frameTruth(input: {
  /** n x 3, linear, before exposure. */
  linear: Float32Array;
  white: Float32Array;
  parts: Uint8Array;
  exposureFactor: number;
  wholeParts: Uint8Array;
  widthPx: number;
}): PixelTruth {
  const { linear, white, parts, exposureFactor } = input;
  const means = new Map<number, Mean>();
  let over = 0;
  for (let i = 0; i < parts.length; i++) {
    const part = parts[i] ?? 0;
    const y = 0.2126 * (linear[i * 3] ?? 0) + 0.7152 * (linear[i * 3 + 1] ?? 0) + 0.0722 * (linear[i * 3 + 2] ?? 0);
    const mean = means.get(part) ?? { luminance: 0, light: 0, pixels: 0 };
    mean.luminance += y * exposureFactor;
    mean.light += (white[i] ?? 0) * exposureFactor;
    mean.pixels++;
    means.set(part, mean);
    if (part === PART.face && (linear[i * 3] ?? 0) * exposureFactor > 0.18 * 2 ** 2.96) over++;
  }
  const of = (...ids: number[]): Mean => {
    const sum: Mean = { luminance: 0, light: 0, pixels: 0 };
    for (const id of ids) {
      const m = means.get(id);
      if (m === undefined) continue;
      sum.luminance += m.luminance;
      sum.light += m.light;
      sum.pixels += m.pixels;
    }
    return sum.pixels === 0
      ? sum
      : { luminance: sum.luminance / sum.pixels, light: sum.light / sum.pixels, pixels: sum.pixels };
  };
  const face = of(PART.face);
  const legs = of(PART.upperLegs, PART.lowerLegs);
  const shins = of(PART.lowerLegs);
  const scale = shownScale(input);
  const legsShownShare = scale === 0 ? 0 : Math.min(1, legs.pixels / scale);
  const hasFace = face.pixels >= 50;
  const legsTold = hasFace && legsShownShare >= 0.6;
  return {
    faceLightStops: hasFace ? Math.log2(face.light) : null,
    faceLevelStops: hasFace ? Math.log2(face.luminance / 0.18) : null,
    legsShownShare,
    faceToLegsBrightnessStops: legsTold ? Math.log2(face.luminance / legs.luminance) : null,
    faceToLegsLightStops: legsTold ? Math.log2(face.light / legs.light) : null,
    faceToLowerLegsLightStops: legsTold && shins.pixels > 0 ? Math.log2(face.light / shins.light) : null,
    faceLeftToRightLightStops: hasFace ? leftToRight(input) : null,
    faceOverSensorShare: hasFace ? over / face.pixels : null,
    facePixels: face.pixels,
  };
}

/** Leg pixels the frame would hold if all of the legs showed: from the enlargement seen on the face. */
function shownScale(input: { parts: Uint8Array; wholeParts: Uint8Array }): number {
  const count = (ids: Uint8Array, wanted: readonly number[]) =>
    ids.reduce((n, id) => n + (wanted.includes(id) ? 1 : 0), 0);
  const wholeFace = count(input.wholeParts, [PART.face]);
  const wholeLegs = count(input.wholeParts, [PART.upperLegs, PART.lowerLegs]);
  return wholeFace === 0 ? 0 : (count(input.parts, [PART.face]) / wholeFace) * wholeLegs;
}

/** The face mask is halved at the middle of its own box. */
function leftToRight({
  white,
  parts,
  widthPx,
}: {
  white: Float32Array;
  parts: Uint8Array;
  widthPx: number;
}): number | null {
  let first = widthPx;
  let last = -1;
  parts.forEach((part, i) => {
    if (part !== PART.face) return;
    const x = i % widthPx;
    first = Math.min(first, x);
    last = Math.max(last, x);
  });
  const middle = (first + last) / 2;
  const sums = { left: 0, leftPixels: 0, right: 0, rightPixels: 0 };
  parts.forEach((part, i) => {
    if (part !== PART.face) return;
    if (i % widthPx < middle) {
      sums.left += white[i] ?? 0;
      sums.leftPixels++;
    } else {
      sums.right += white[i] ?? 0;
      sums.rightPixels++;
    }
  });
  if (sums.left <= 0 || sums.right <= 0) return null;
  return Math.log2(sums.left / sums.leftPixels / (sums.right / sums.rightPixels));
}
