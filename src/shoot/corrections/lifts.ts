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
 * Regions to raise after the whole frame was corrected, in the order to do them: face, lower body, background. Each
 * only so far that it ends within tolerance of the face, never into clipping, nor further than its noise bears.
 *
 * @param correctedStops by how much the whole frame was brightened before; what `faceAloneStops` tells is not in it
 */
export function liftsOf(context: FrameContext, correctedStops: number): Lift[] {
  const raised = (wanted: Wanted | null): Lift[] => (wanted === null ? [] : limited(wanted, context, correctedStops));
  const face = raised(faceLift(context));
  return [...face, ...raised(lowerBodyLift(context, face[0]?.stops ?? 0)), ...raised(backgroundLift(context))];
}

/**
 * How much darker a face got than its wall did: the sitter went out of the light, or turned. Brightening the whole frame by it
 * would make the wall too bright. 0 where both tell the same, or the face is within tolerance.
 */
export function faceAloneStops({ frame, light, plan }: FrameContext): number {
  const { subjectStops, wallStops, witnesses } = light;
  const alone = frame.facts.main?.face && witnesses === 'disagree' && subjectStops !== null;
  if (!alone || -subjectStops <= plan.toleranceStops) return 0;
  return Math.max(0, -subjectStops - Math.max(0, -(wallStops ?? 0)));
}

function faceLift(context: FrameContext): Wanted | null {
  const face = context.frame.facts.main?.face ?? null;
  const dark = faceAloneStops(context);
  if (face === null || dark === 0) return null;
  return {
    region: 'face',
    stops: dark - leftStops(context.plan.toleranceStops),
    levelStops: face.brightSideLevelStops ?? face.levelStops,
    outline: face.outline,
    why: `the face is ${stopsText(dark)} under this sitter's other frames while the background is not`,
  };
}

/** @param faceRaisedStops what the face gets before, and the lower body has to follow */
function lowerBodyLift({ frame, plan, setup }: FrameContext, faceRaisedStops: number): Wanted | null {
  const { main } = frame.facts;
  const fall = main === null ? null : lightFallStops(main, setup.medians.sitterLegSkinStops.get(frame.sitter) ?? 0);
  if (!main?.lowerBody || fall === null || main.basis === 'clothing') return null;
  const uncertainty = main.faceToLowerBodyLightUncertaintyStops ?? USUAL_LEG_UNCERTAINTY_STOPS;
  const under = fall + faceRaisedStops;
  if (under <= plan.toleranceStops + uncertainty) return null;
  const raised = faceRaisedStops > 0 ? ` raised by ${stopsText(faceRaisedStops)}` : '';
  return {
    region: 'lower-body',
    stops: under - leftStops(plan.toleranceStops),
    levelStops: main.lowerBody.levelStops,
    outline: main.lowerBody.outline,
    why: `the lower body gets ${stopsText(under)} less light than the face${raised}`,
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
