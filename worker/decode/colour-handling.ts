import { srgbEncodedToLinear } from '../../src/photometry/srgb.js';
import type { DecodedFrame, Matrix3 } from './decoded-frame.js';
import { parseIccProfile } from './icc-profile.js';
import type { ToneCurve } from './icc-curve.js';
import { SRGB_TO_XYZ } from './rgb-primaries.js';

/** How one file's codes become linear light. */
export type ColourHandling = Pick<DecodedFrame, 'codeToLinear' | 'rgbToXyz' | 'profile'>;

export interface CodeScale {
  /** 255 or 65535: tables have one entry more. */
  maxCode: number;
  /** The code that stands for 1: maxCode, or less where the decoder shifts 10- or 12-bit codes up. */
  fullCode: number;
}

/** Says how to turn codes into light, or that only a conversion to sRGB by the decoder can. */
export type ColourDecision =
  | { handling: ColourHandling }
  | { convertBecause: string; /** Why, without what follows of it. */ because: string; description: string | null };

/**
 * Chooses how codes become linear light: by the embedded profile's own curves and primaries, or as sRGB
 * (IEC 61966-2-1) when there is none or it cannot be used (the profile's `because` says which and why).
 * Table profiles are for the decoder to convert. One-channel frames get one table and R = G = B = grey.
 */
export function decideColour(icc: Uint8Array | undefined, channels: 1 | 3, scale: CodeScale): ColourDecision {
  if (icc === undefined)
    return { handling: takenAsSrgb(channels, scale, 'none', null, 'The file holds no colour profile') };
  const profile = parseIccProfile(icc);
  const { description } = profile;
  const name = description === null ? 'The embedded profile' : `The embedded profile "${description}"`;
  if (profile.kind === 'table') {
    const because = `${name} could not be read as curves (${profile.reason})`;
    return { convertBecause: `${because}; codes were converted to 8-bit sRGB`, because, description };
  }
  if (profile.kind === 'unusable') {
    const because = `${name} cannot be used (${profile.reason}), so codes are taken as sRGB`;
    return { handling: takenAsSrgb(channels, scale, 'none', description, because) };
  }
  if (profile.kind === 'grey') {
    if (channels === 1) return { handling: byCurves([profile.curve], SRGB_TO_XYZ, 'grey', description, name, scale) };
    const because = `${name} is for grey images and this one has colour, so codes are taken as sRGB`;
    return { handling: takenAsSrgb(channels, scale, 'grey', description, because) };
  }
  const { curves, rgbToXyz } = profile;
  const used: readonly ToneCurve[] = channels === 3 ? curves : [greyThroughRgb(curves, rgbToXyz)];
  const matrix = channels === 3 ? rgbToXyz : SRGB_TO_XYZ;
  return { handling: byCurves(used, matrix, 'matrix', description, name, scale) };
}

/** Codes read by the sRGB curve. Pass why. */
export function takenAsSrgb(
  channels: 1 | 3,
  scale: CodeScale,
  kind: 'none' | 'grey' | 'table',
  description: string | null,
  because: string,
): ColourHandling {
  const table = tabulate(srgbEncodedToLinear, scale);
  return {
    codeToLinear: channels === 1 ? [table] : [table, table, table],
    rgbToXyz: SRGB_TO_XYZ,
    profile: { description, kind, handling: 'taken-as-srgb', because },
  };
}

/** Codes read by a space that the file states in other words than a profile. Pass whose words. */
export function statedSpace(stated: {
  curve: ToneCurve;
  rgbToXyz: Matrix3;
  description: string;
  because: string;
  channels: 1 | 3;
  scale: CodeScale;
}): ColourHandling {
  const { curve, rgbToXyz, description, because, channels, scale } = stated;
  const table = tabulate(curve, scale);
  return {
    codeToLinear: channels === 1 ? [table] : [table, table, table],
    rgbToXyz: channels === 1 ? SRGB_TO_XYZ : rgbToXyz,
    profile: { description, kind: 'none', handling: 'stated-space', because },
  };
}

/** Codes that the decoder has converted to 8-bit sRGB. Pass why. */
export function convertedToSrgb(description: string | null, because: string): ColourHandling {
  const { profile, ...colour } = takenAsSrgb(3, { maxCode: 255, fullCode: 255 }, 'table', description, because);
  return { ...colour, profile: { ...profile, handling: 'converted-to-srgb' } };
}

/** A curve as a table of maxCode + 1 linear values; codes above fullCode stand at 1. */
export function tabulate(curve: ToneCurve, { maxCode, fullCode }: CodeScale): Float32Array {
  const table = new Float32Array(maxCode + 1);
  for (let code = 0; code <= maxCode; code += 1) table[code] = curve(Math.min(1, code / fullCode));
  return table;
}

function byCurves(
  curves: readonly ToneCurve[],
  rgbToXyz: Matrix3,
  kind: 'matrix' | 'grey',
  description: string | null,
  name: string,
  scale: CodeScale,
): ColourHandling {
  return {
    codeToLinear: curves.map((curve) => tabulate(curve, scale)),
    rgbToXyz,
    profile: { description, kind, handling: 'profile-curves', because: `${name} gives the curves and primaries` },
  };
}

/** A grey code read through an RGB profile: the luminance of R = G = B. */
function greyThroughRgb(curves: readonly [ToneCurve, ToneCurve, ToneCurve], rgbToXyz: Matrix3): ToneCurve {
  const [red, green, blue] = curves;
  return (device) => rgbToXyz[3] * red(device) + rgbToXyz[4] * green(device) + rgbToXyz[5] * blue(device);
}
