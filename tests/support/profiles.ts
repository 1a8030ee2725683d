import { curvTag, descriptionTag, matrixTag, paraTag, writeProfile, xyzTag } from './icc-writer.js';

/** Linear Bradford D65 -> D50 as ICC profiles carry it (the usual `chad`, five digits). */
const CHAD_D65 = [1.04788, 0.02292, -0.05022, 0.02959, 0.99048, -0.01707, -0.00925, 0.01508, 0.75168];

/** IEC 61966-2-1 as a parametric curve of type 3. */
export const SRGB_PARA = paraTag(3, [2.4, 1 / 1.055, 0.055 / 1.055, 1 / 12.92, 0.04045]);

/** ROMM RGB (ISO 22028-2): gamma 1.8 with a toe of slope 1/16 below code 16/512. */
export const ROMM_PARA = paraTag(3, [1.8, 1, 0, 1 / 16, 0.031248]);

export const ADOBE_GAMMA = curvTag([(563 / 256) * 256]);

/** Columns relative to the D50 of the connection space, as published with the spaces' own profiles. */
export const SRGB_COLUMNS = [
  [0.43607, 0.22249, 0.01392],
  [0.38515, 0.71687, 0.09708],
  [0.14307, 0.06061, 0.7141],
] as const;
export const ADOBE_COLUMNS = [
  [0.60974, 0.31111, 0.01947],
  [0.20528, 0.62567, 0.06087],
  [0.14919, 0.06322, 0.74457],
] as const;
export const P3_COLUMNS = [
  [0.51512, 0.2412, -0.00105],
  [0.29198, 0.69225, 0.04189],
  [0.1571, 0.06657, 0.78407],
] as const;
export const ROMM_COLUMNS = [
  [0.79767, 0.28807, 0],
  [0.13519, 0.71184, 0],
  [0.03134, 0.00009, 0.8249],
] as const;

/** An RGB matrix profile. `chad: true` adds the usual D65 adaptation. */
export function rgbProfile(
  description: string,
  columns: readonly (readonly number[])[],
  curve: Buffer,
  chad: boolean,
): Buffer {
  const tags = new Map<string, Buffer>([
    ['desc', descriptionTag(description)],
    ['wtpt', xyzTag([0.9642, 1, 0.8249])],
    ['rXYZ', xyzTag(columns[0] ?? [])],
    ['gXYZ', xyzTag(columns[1] ?? [])],
    ['bXYZ', xyzTag(columns[2] ?? [])],
    ['rTRC', curve],
    ['gTRC', curve],
    ['bTRC', curve],
  ]);
  if (chad) tags.set('chad', matrixTag(CHAD_D65));
  return writeProfile({ deviceSpace: 'RGB ', tags });
}

export function greyProfile(description: string, curve: Buffer): Buffer {
  const tags = new Map([
    ['desc', descriptionTag(description)],
    ['kTRC', curve],
  ]);
  return writeProfile({ deviceSpace: 'GRAY', tags });
}
