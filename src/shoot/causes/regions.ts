import type { Person } from '../../contracts/people.js';
import type { Flag } from '../../contracts/report.js';
import { difference } from '../known.js';
import type { FrameContext } from '../setup-state.js';
import { severityOf } from '../severity.js';
import { legsAgainstOwn } from './legs-against-own.js';
import { brighterOrDarker, signedStops, stopsText } from '../wording.js';

/** Framing moves the wall that is seen by a tenth of a stop or more, so it needs more than a face does. Ours. */
const BACKGROUND_TOLERANCES = 1.5;
/** Turning the head moves side-to-side by as much; only more than this is the light. Ours. */
const CONTRAST = { checkStops: 0.9, faultStops: 1.5, spreads: 4 } as const;
/** Confidence of the lower body's finding under which nothing is said about it. Ours. */
const LEAST_CONFIDENCE = 0.4;
/** A change of more than this many stops in the light leaves no region to compare. */
const LIGHT_GONE_STOPS = -1.3;

/**
 * How much less light the lower body gets than the face. What the sitter's own leg skin adds is taken out as far
 * as the other sitters tell it, and never by more than the stated uncertainty, which is what skin may differ by.
 */
export function lightFallStops(main: Person, legSkinStops: number): number | null {
  if (main.faceToLowerBodyLightStops === null) return null;
  const most = main.faceToLowerBodyLightUncertaintyStops ?? USUAL_LEG_UNCERTAINTY_STOPS;
  return main.faceToLowerBodyLightStops - Math.max(-most, Math.min(most, legSkinStops));
}

/** Face and leg skin of one sitter differ by about this (inference from site-by-site skin tables). */
export const USUAL_LEG_UNCERTAINTY_STOPS = 0.3;

/** The wall moved and the subject did not. */
export function backgroundFlags({ light, setup, plan, frame }: FrameContext): Flag[] {
  const { wallStops, lightStops, witnesses } = light;
  if (witnesses !== 'disagree' || wallStops === null || lightStops === null) return [];
  const moved = wallStops - lightStops;
  const spread = setup.medians.wallSpreadStops ?? 0;
  const tolerance = Math.max(BACKGROUND_TOLERANCES * plan.toleranceStops, 4 * spread);
  const severity = severityOf(moved, tolerance, frame.facts.uncertaintyPerStop, 0.1);
  if (severity === null || Math.abs(wallStops) < plan.toleranceStops) return [];
  return [
    {
      code: 'background-shifted',
      severity: Math.abs(moved) > 2 * tolerance ? severity : 'check',
      stops: moved,
      region: 'background',
      because: `The background is ${stopsText(moved)} ${brighterOrDarker(moved)} against the subject than in the rest of ${setup.id}: its light changed, or other ground is seen.`,
    },
  ];
}

export function contrastFlags({ frame, setup, light }: FrameContext): Flag[] {
  const usual = setup.medians.sideToSideStops;
  const moved = difference(frame.facts.sideToSideStops, usual);
  if (moved === null || usual === null || setup.frames.length < 4) return [];
  if ((light.lightStops ?? 0) <= LIGHT_GONE_STOPS) return [];
  const own = setup.medians.sitterSideToSideStops.get(frame.sitter) ?? null;
  const fromOwn = difference(frame.facts.sideToSideStops, own) ?? moved;
  const size = Math.min(Math.abs(moved), Math.abs(fromOwn));
  const floor = CONTRAST.spreads * (setup.medians.sideToSideSpreadStops ?? 0);
  if (size <= Math.max(CONTRAST.checkStops, floor)) return [];
  return [
    {
      code: 'contrast-shifted',
      severity: size > Math.max(CONTRAST.faultStops, floor) ? 'fault' : 'check',
      stops: moved,
      region: 'face',
      because: `Side to side the face holds ${(frame.facts.sideToSideStops ?? 0).toFixed(2)} stops, ${signedStops(moved)} against ${setup.id}'s ${usual.toFixed(2)}: a light is off or moved, or the head turned.`,
    },
  ];
}

/**
 * Light on the lower body against the face: by skin where it shows; where only cloth shows, nothing but the
 * change against the same sitter's other frames, since cloth says nothing of the light.
 */
export function lowerBodyFlags(context: FrameContext): Flag[] {
  const { frame, setup, plan, light } = context;
  const { main } = frame.facts;
  if (main === null || main.basis === null || main.confidence < LEAST_CONFIDENCE) return [];
  if ((light.lightStops ?? 0) <= LIGHT_GONE_STOPS) return [];
  const tolerance = plan.toleranceStops;
  const fall = lightFallStops(main, setup.medians.sitterLegSkinStops.get(frame.sitter) ?? 0);
  const flags: Flag[] = [];
  if (fall !== null && main.basis !== 'clothing') {
    const uncertainty = main.faceToLowerBodyLightUncertaintyStops ?? USUAL_LEG_UNCERTAINTY_STOPS;
    if (fall > tolerance + uncertainty)
      flags.push({
        code: 'lower-body-dark',
        severity: fall > tolerance + 2 * uncertainty ? 'fault' : 'check',
        stops: fall,
        region: 'lower-body',
        because: `The lower body gets ${stopsText(fall)} less light than the face (skin against skin, uncertain by ${uncertainty.toFixed(2)}; tolerance ${tolerance.toFixed(2)}).`,
      });
  }
  if (flags.length === 0) flags.push(...legsAgainstOwn(context));
  return flags;
}
