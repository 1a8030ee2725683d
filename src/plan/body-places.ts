/**
 * Heights of a standing person's places as shares of the stature. Chin 0.870, eye 0.936, knee 0.285 and ankle 0.039:
 * Drillis & Contini 1966 as drawn in Winter, Biomechanics and Motor Control of Human Movement (from memory); the
 * face is midway between chin and eye. The waist at 0.61, about the navel, is common practice with no single
 * source. People differ by a few hundredths.
 */
const HEIGHT_SHARES = { face: (0.87 + 0.936) / 2, waist: 0.61, knee: 0.285, ankle: 0.039 } as const;

/** Height of the face's middle as a share of the stature. */
export const FACE_HEIGHT_SHARE = HEIGHT_SHARES.face;

export type BodyPlace = keyof typeof HEIGHT_SHARES;
export const BODY_PLACES = Object.keys(HEIGHT_SHARES) as BodyPlace[];

/** Stature taken where none is told, in metres. Ours, for a grown person. */
export const USUAL_STATURE_METRES = 1.7;

/** How far below the face a place lies, in the unit of the stature. */
export function belowFace(place: BodyPlace, stature: number): number {
  return (HEIGHT_SHARES.face - HEIGHT_SHARES[place]) * stature;
}
