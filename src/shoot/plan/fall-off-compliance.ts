import type { PlanCompliance } from '../../contracts/compliance.js';
import { medianKnown, rounded, type Unknown } from '../known.js';
import type { SequenceFrame } from '../sequence.js';
import { signedStops, stopsText } from '../wording.js';
import { NOTHING, verdictOf, type Part, type Shared, type Shot } from './compliance-part.js';
import { expectedFaceToLowerBodyStops } from './expected-fall-off.js';
import { planForFrame } from './planned-setups.js';

/** Face and leg skin of one sitter differ by about this by themselves (inference from site-by-site skin tables). */
const SKIN_STOPS = 0.3;
/** The geometry against path-traced figures, whose own shade it does not know; tests/reference/expected-fall-off. */
const GEOMETRY_STOPS = 0.25;
/** Fall-off from face to legs, skin against skin, against what the light's place and size give. */
export function fallOffPart(
  { planned }: Shot,
  frames: readonly SequenceFrame[],
  { plan }: Shared,
): Part<NonNullable<PlanCompliance['fallOff']>> {
  if (planned.light === undefined) return NOTHING;
  const expected = expectedFaceToLowerBodyStops(planned.light);
  if (expected === null) return { ...NOTHING, because: [`"${planned.name}": no light reaches the legs as planned.`] };
  const bySitter = new Map<number, Unknown[]>();
  for (const { sitter, facts } of frames) {
    const fall = facts.main?.faceToLowerBodyLightStops ?? null;
    if (fall !== null) bySitter.set(sitter, [...(bySitter.get(sitter) ?? []), fall]);
  }
  const measured = medianKnown([...bySitter.values()].map(medianKnown));
  const says = `a light ${planned.light.lightDistanceMetres} m away gives the legs ${stopsText(expected)} less than the face`;
  if (measured === null)
    return { ...NOTHING, because: [`"${planned.name}": ${says}; no bare leg skin shows, so that is not checked.`] };
  const uncertainty = Math.hypot(SKIN_STOPS / Math.sqrt(bySitter.size), GEOMETRY_STOPS);
  const from = measured - expected;
  const verdict = verdictOf(from, planForFrame(plan, planned).toleranceStops, uncertainty);
  const cause =
    verdict === 'as-planned'
      ? ''
      : from > 0
        ? ': the light stands nearer, higher or smaller than planned, or something shades the legs'
        : ': something else lights the legs, or the light stands farther off than planned';
  return {
    value: {
      expectedStops: rounded(expected) ?? 0,
      measuredStops: rounded(measured) ?? 0,
      fromPlanStops: rounded(from) ?? 0,
      uncertaintyStops: rounded(uncertainty) ?? 0,
    },
    // Geometry knows nothing of floor, walls and fill, so it alone never says off.
    verdict: verdict === 'off-plan' ? 'check' : verdict,
    because: [
      `"${planned.name}": ${says}, measured ${signedStops(measured)} (skin against skin, all in all uncertain by ${uncertainty.toFixed(2)})${cause}.`,
    ],
  };
}
