import type { SeededRandom } from './seeded-random.js';

/*
 * Facial luminance by skin group, specular included, in stops re 18 %: +1.09 … -1.20 (secondary source on the
 * ISSA data set, medians by individual typology angle 62 … -60 degrees). Leg skin against the face: about
 * +-0.3 stop (inference from site-by-site tables of the same sources).
 */
const FACE_STOPS = [1.09, 0.96, 0.77, 0.55, 0.29, 0.05, -0.29, -0.62, -0.9, -1.2] as const;

export interface SimulatedPerson {
  faceStops: number;
  legMinusFaceStops: number;
  torsoStops: number;
  /** What another crop shows of the clothes: collar, coat or all of it. */
  torsoCropStops: Record<'full' | 'three-quarter' | 'head', number>;
  torsoLogRg: number;
  torsoLogBg: number;
  trouserStops: number;
  legs: 'skin' | 'mixed' | 'clothing';
  skinLogRg: number;
  skinLogBg: number;
  skinMiredOffset: number;
  /** Which way the face is shaped and turned by habit. */
  sideToSideStops: number;
}

export function simulatePerson(random: SeededRandom): SimulatedPerson {
  const faceStops = random.pick(FACE_STOPS) + random.normal(0.08);
  return {
    faceStops,
    legMinusFaceStops: random.normal(0.2),
    torsoStops: random.between(-3, 1.8),
    torsoCropStops: { full: random.normal(0.08), 'three-quarter': 0, head: random.normal(0.25) },
    torsoLogRg: random.chance(0.5) ? random.normal(0.1) : random.normal(0.6),
    torsoLogBg: random.chance(0.5) ? random.normal(0.15) : random.normal(0.7),
    trouserStops: random.between(-3, 1),
    legs: random.pick(['skin', 'mixed', 'clothing', 'clothing'] as const),
    // Deeper skin is a little redder in chromaticity.
    skinLogRg: 0.62 - 0.1 * faceStops + random.normal(0.04),
    skinLogBg: -0.55 + 0.08 * faceStops + random.normal(0.05),
    skinMiredOffset: 60 + random.normal(12),
    sideToSideStops: random.normal(0.15),
  };
}

/** The same person in every respect but the skin's reflectance (clothes, place, pose, noise unchanged). */
export function withOtherSkin(person: SimulatedPerson, random: SeededRandom): SimulatedPerson {
  return { ...person, faceStops: random.pick(FACE_STOPS) + random.normal(0.08) };
}
