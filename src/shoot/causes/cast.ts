import type { Flag, Severity } from '../../contracts/report.js';
import type { FrameContext } from '../setup-state.js';
import { colourText, signedColour } from '../wording.js';

/*
 * Limits on the colour of the light against the set-up. A flash tube moves by up to about 200 K over its
 * power range (7 mired at 5500 K), mixed lamps by more; the weakest correction gel in common use is about
 * 26 mired (from memory: an eighth of orange). So: look from 15 (flash) or 20 (continuous) mired, off from 26
 * or 32. Duv: +-0.006 is the usual allowance for lamps sold as one white (ANSI C78.377, from memory); off
 * from twice that. Common practice beyond that, no single source.
 */
export const CAST_LIMITS = {
  flash: { checkMired: 15, faultMired: 26 },
  continuous: { checkMired: 20, faultMired: 32 },
  checkDuv: 0.007,
  faultDuv: 0.014,
} as const;
/** A shift must also stand out of the set-up's own scatter by so many spreads. */
const SPREADS = 4;
/** Where the light itself is missing, the ambient's colour is no second fault. */
const LIGHT_GONE_STOPS = -1.3;

export function castFlags({ cast, light, lightKind, setup, frame }: FrameContext): Flag[] {
  const { mired, duv, spreadMired } = cast;
  if (mired === null) return [];
  const limits = CAST_LIMITS[lightKind.kind];
  const floor = SPREADS * spreadMired;
  const size = Math.abs(mired);
  const checkMired = Math.max(limits.checkMired, floor);
  const byMired = against(size, checkMired, Math.max(limits.faultMired, floor));
  const byDuv =
    cast.witnesses === 'both' && duv !== null
      ? against(Math.abs(duv), CAST_LIMITS.checkDuv, CAST_LIMITS.faultDuv)
      : null;
  let severity: Severity | null = byMired === 'fault' || byDuv === 'fault' ? 'fault' : (byMired ?? byDuv);
  if (severity === null) return [];
  if (cast.witnesses === 'one' && severity === 'fault' && frame.facts.backgroundMired === null) severity = 'check';
  // Nothing to compare its light with: it may be gone as well.
  const gone = light.lightStops === null || light.lightStops <= LIGHT_GONE_STOPS;
  const colour = colourText(mired, duv);
  // A tint that is no finding of its own is not filtered for.
  const filter = signedColour(-mired, byDuv === null || duv === null ? null : -duv);
  const looked = byMired === null ? `${CAST_LIMITS.checkDuv} Duv` : `${checkMired.toFixed(0)} mired`;
  const because = gone
    ? `${light.lightStops === null ? "Nothing tells whether the light is there, so this may be the ambient's colour" : "With the light gone the ambient's colour is left"}: ${colour} than ${setup.id}.`
    : `The light is ${colour} than in the rest of ${setup.id} (looked at from ${looked}): filter by ${filter}, or check the white balance.`;
  return [{ code: 'cast-shifted', severity: gone ? 'note' : severity, because }];
}

function against(size: number, checkFrom: number, faultFrom: number): Severity | null {
  return size > faultFrom ? 'fault' : size > checkFrom ? 'check' : null;
}
