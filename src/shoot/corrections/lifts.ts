import type { Lift } from '../../contracts/report.js';
import type { Outline } from '../../contracts/quantities.js';
import { USUAL_LEG_UNCERTAINTY_STOPS, lightFallStops } from '../causes/regions.js';
import type { FrameContext } from '../setup-state.js';
import { stopsText } from '../wording.js';
import { noiseLimitStops } from './noise-limit.js';

/** Diffuse white, log2(1 / 0.18): a rendered file clips there. */
export const CLIP_LEVEL_STOPS = Math.log2(1 / 0.18);
/** Brightest usable part of a region above its trimmed mean. Ours. */
export const PEAK_OVER_MEAN_STOPS = 0.7;
/** Less is not worth an edit. */
export const LEAST_LIFT_STOPS = 0.05;

/** What carrying a lift out may miss by: 8-bit codes, edges of the mask. So far inside the tolerance a lift aims. Ours. */
const CARRIED_OUT_WITHIN_STOPS = 0.1;

/** How far from the face a lifted region is left, so that it ends within tolerance also as measured afterwards. */
const leftStops = (toleranceStops: number): number =>
  toleranceStops - Math.min(CARRIED_OUT_WITHIN_STOPS, toleranceStops / 2);

const WHOLE_FRAME: Outline = [
  [0, 0],
  [1, 0],
  [1, 1],
  [0, 1],
];

interface Wanted {
  region: Lift['region'];
  stops: number;
  levelStops: number | null;
  outline: Outline;
  why: string;
}

/**
 * Regions to raise after the whole frame was corrected, in the order to do them: lower body, background. Each
 * only so far that it ends within tolerance of the face, never into clipping, nor further than its noise bears. The face
 * itself is what the whole frame was corrected by.
 *
 * @param correctedStops by how much the whole frame was brightened before
 */
export function liftsOf(context: FrameContext, correctedStops: number): Lift[] {
  return [lowerBodyLift(context), backgroundLift(context)].flatMap((wanted) =>
    wanted === null ? [] : limited(wanted, context, correctedStops),
  );
}

function lowerBodyLift({ frame, plan, setup }: FrameContext): Wanted | null {
  const { main } = frame.facts;
  const fall = main === null ? null : lightFallStops(main, setup.medians.sitterLegSkinStops.get(frame.sitter) ?? 0);
  if (!main?.lowerBody || fall === null || main.basis === 'clothing') return null;
  const uncertainty = main.faceToLowerBodyLightUncertaintyStops ?? USUAL_LEG_UNCERTAINTY_STOPS;
  if (fall <= plan.toleranceStops + uncertainty) return null;
  return {
    region: 'lower-body',
    stops: fall - leftStops(plan.toleranceStops),
    levelStops: main.lowerBody.levelStops,
    outline: main.lowerBody.outline,
    why: `the lower body gets ${stopsText(fall)} less light than the face`,
  };
}

function backgroundLift({ frame, light, plan }: FrameContext): Wanted | null {
  const { wallStops, lightStops, witnesses } = light;
  if (witnesses !== 'disagree' || wallStops === null || lightStops === null) return null;
  const under = lightStops - wallStops;
  const tolerance = 1.5 * plan.toleranceStops;
  if (under <= tolerance || lightStops < -plan.toleranceStops) return null;
  return {
    region: 'background',
    stops: under - leftStops(plan.toleranceStops),
    levelStops: frame.facts.backgroundLevelStops,
    outline: WHOLE_FRAME,
    why: `the background is ${stopsText(under)} under the set-up's, against the subject`,
  };
}

function limited(wanted: Wanted, { frame }: FrameContext, correctedStops: number): Lift[] {
  if (wanted.stops < LEAST_LIFT_STOPS) return [];
  const level = wanted.levelStops;
  const headRoom =
    level === null ? Infinity : Math.max(0, CLIP_LEVEL_STOPS - PEAK_OVER_MEAN_STOPS - level - correctedStops);
  // What brightening the frame has used up of what its noise bears is gone.
  const noise = Math.max(0, noiseLimitStops(frame.facts, level) - Math.max(0, correctedStops));
  const stops = Math.min(wanted.stops, headRoom, noise);
  const limitedBy = stops >= wanted.stops ? null : headRoom <= noise ? 'clipping' : 'noise';
  const told =
    limitedBy === null
      ? ''
      : `; held to that by ${limitedBy}, ${stopsText(wanted.stops)} would bring it within tolerance`;
  return [
    {
      region: wanted.region,
      stops,
      because: `Raise by ${stopsText(stops)}: ${wanted.why}${told}.`,
      limitedBy,
      outline: wanted.outline,
    },
  ];
}
