import type { AppearanceFacts } from './facts.js';
import { difference, medianOf, type Unknown } from './known.js';

/*
 * How alike two frames' sitters look, told from statistics of clothing and skin alone and kept nowhere. Differences of torso and skin are used first: they do not move with the amount or the colour of
 * the light. Scales are the usual scatter of one sitter from pose, crop and noise; ours. To take one sitter
 * for two costs a comparison; to take two for one would turn skin into a fault, so the limits are narrow.
 */
type Feature = Exclude<keyof AppearanceFacts, 'cropLog2'>;
export const SCALES: Record<Feature, number> = {
  torsoMinusSkinLogRg: 0.1,
  torsoMinusSkinLogBg: 0.12,
  torsoMinusFaceStops: 0.18,
  skinLogRg: 0.18,
  skinLogBg: 0.28,
};
const KEYS = Object.keys(SCALES) as Feature[];
/** Another crop shows other parts of the clothes (a collar, a coat): so much more scatter a doubling of the head. Ours. */
const TORSO_BY_CROP = { stops: 0.12, logRg: 0.03, logBg: 0.04 } as const;
/** A nearer or higher light falls off otherwise from face to chest; so much more scatter between arrangements. Ours. */
const TORSO_BY_FALL_OFF_STOPS = 0.15;
/** Framings of unknown size are compared last. */
const UNKNOWN_CROPS_APART = 99;

/**
 * Largest scaled difference of any feature; null when fewer than two are known in both.
 *
 * @param otherLight the two were seen in different arrangements of the light, which falls off differently down the body
 */
export function appearanceDistance(a: AppearanceFacts, b: AppearanceFacts, otherLight = false): Unknown {
  let largest = 0;
  let known = 0;
  const crops = Math.abs(difference(a.cropLog2, b.cropLog2) ?? 0);
  for (const key of KEYS) {
    const apart = difference(a[key], b[key]);
    if (apart === null) continue;
    largest = Math.max(largest, Math.abs(apart) / scaleOf(key, crops, otherLight));
    known++;
  }
  return known < 2 ? null : largest;
}

function scaleOf(key: Feature, crops: number, otherLight: boolean): number {
  if (key === 'torsoMinusFaceStops')
    return SCALES[key] + TORSO_BY_CROP.stops * crops + (otherLight ? TORSO_BY_FALL_OFF_STOPS : 0);
  if (key === 'torsoMinusSkinLogRg') return SCALES[key] + TORSO_BY_CROP.logRg * crops;
  return key === 'torsoMinusSkinLogBg' ? SCALES[key] + TORSO_BY_CROP.logBg * crops : SCALES[key];
}

export function medianAppearance(frames: readonly { appearance: AppearanceFacts }[]): AppearanceFacts {
  const of = (key: keyof AppearanceFacts): Unknown => medianOf(frames, (frame) => frame.appearance[key]);
  return {
    torsoMinusSkinLogRg: of('torsoMinusSkinLogRg'),
    torsoMinusSkinLogBg: of('torsoMinusSkinLogBg'),
    torsoMinusFaceStops: of('torsoMinusFaceStops'),
    skinLogRg: of('skinLogRg'),
    skinLogBg: of('skinLogBg'),
    cropLog2: of('cropLog2'),
  };
}

/** Framings that are alike (log2 of the head's size), and how many such frames tell a look. Ours. */
const LIKE_FRAMING = { log2: 0.4, least: 2 } as const;

/** How the frames that are framed like one of this crop look, in medians; null where too few are. */
export function looksInFraming(
  frames: readonly { appearance: AppearanceFacts }[],
  cropLog2: Unknown,
): AppearanceFacts | null {
  const alike = frames.filter(
    ({ appearance }) => Math.abs(difference(appearance.cropLog2, cropLog2) ?? Infinity) <= LIKE_FRAMING.log2,
  );
  return alike.length < LIKE_FRAMING.least ? null : medianAppearance(alike);
}

/** How one sitter looks in every framing: medians of the frames whose heads are alike in size. */
export type Looks = readonly AppearanceFacts[];

/** Frames are told apart by whole doublings of the head's size. */
export function looksOf(frames: readonly { appearance: AppearanceFacts }[]): Looks {
  const framings = new Map<number | null, { appearance: AppearanceFacts }[]>();
  for (const frame of frames) {
    const { cropLog2 } = frame.appearance;
    const key = cropLog2 === null ? null : Math.round(cropLog2);
    const framing = framings.get(key);
    if (framing === undefined) framings.set(key, [frame]);
    else framing.push(frame);
  }
  return [...framings.values()].map(medianAppearance);
}

/**
 * How unlike two sitters look, judged in the two framings that are nearest to each other: a close crop shows a collar, a
 * full length shows a coat, and a median over both is nobody's.
 *
 * @param otherLight as for appearanceDistance
 */
export function looksDistance(a: Looks, b: Looks, otherLight = false): Unknown {
  let nearest = Infinity;
  let distance: Unknown = null;
  for (const one of a)
    for (const other of b) {
      const crops = Math.abs(difference(one.cropLog2, other.cropLog2) ?? UNKNOWN_CROPS_APART);
      if (crops >= nearest) continue;
      nearest = crops;
      distance = appearanceDistance(one, other, otherLight);
    }
  return distance;
}
