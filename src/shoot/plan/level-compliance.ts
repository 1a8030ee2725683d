import type { PlanCompliance } from '../../contracts/compliance.js';
import { thirdStopSteps } from '../../photometry/stops.js';
import { arrangementOf } from '../arrangement.js';
import { changeBetween, withRecognisedSitters } from '../arrangement-change.js';
import { medianOf, rounded } from '../known.js';
import { signedStops, stopsText, thirdSteps } from '../wording.js';
import { NOTHING, verdictOf, type Part, type Shared, type Shot } from './compliance-part.js';
import { planForFrame } from './planned-setups.js';
import { lightReadStops } from './reading.js';

/** A change of light on the same face read by an incident meter and by a picture: pose, dome and trimming. Ours. */
const READING_STOPS = 0.15;
/** Where the light came from another side as well, the face's mean is another part of the face. Ours. */
const OTHER_SIDE = { sideToSideStops: 0.5, addedStops: 0.2 } as const;

/** Light on the sitters who are also in an earlier planned set-up: as measured, against as the two readings say. */
export function levelPart(
  shot: Shot,
  earlier: readonly Shot[],
  { plan, light }: Shared,
): Part<NonNullable<PlanCompliance['level']>> {
  const { planned } = shot;
  if (planned.reading === undefined || plan.finished === true) return NOTHING;
  for (const before of earlier) {
    if (before.planned.reading === undefined) continue;
    const read = lightReadStops(before.planned.reading, planned.reading, light.shutterWeight);
    const measured = plan.compareSitters === false ? null : measuredChange(before, shot, light.shutterWeight);
    if (read === null || measured === null) continue;
    const uncertainty = READING_STOPS + measured.uncertaintyStops;
    const from = measured.stops - read;
    const sure = verdictOf(from, planForFrame(plan, planned).toleranceStops, uncertainty);
    // A look-alike cannot be ruled out where nobody went on from one set-up to the other.
    const verdict = measured.recognised && sure === 'off-plan' ? 'check' : sure;
    const told = `From "${before.planned.name}" to "${planned.name}" the readings say ${signedStops(read)} stop of light, the sitters ${measured.recognised ? 'who look alike in both' : 'in both'} show ${signedStops(measured.stops)}`;
    return {
      value: {
        against: before.planned.name,
        readStops: rounded(read) ?? 0,
        measuredStops: rounded(measured.stops) ?? 0,
        fromPlanStops: rounded(from) ?? 0,
        thirdStopSteps: thirdStopSteps(-from) + 0,
        uncertaintyStops: rounded(uncertainty) ?? 0,
      },
      verdict,
      because: [
        verdict === 'as-planned'
          ? `${told} (uncertain by ${uncertainty.toFixed(2)}).`
          : `${told} (uncertain by ${uncertainty.toFixed(2)}): ${stopsText(from)} ${from > 0 ? 'more' : 'less'} than read; ${thirdSteps(-from)} of light, or a new reading.`,
      ],
    };
  }
  return earlier.some((before) => before.planned.reading !== undefined)
    ? {
        ...NOTHING,
        because: [
          `"${planned.name}": nobody is in another metered set-up as well, so its light is not held against the readings.`,
        ],
      }
    : NOTHING;
}

function measuredChange(
  before: Shot,
  after: Shot,
  shutterWeight: number,
): { stops: number; uncertaintyStops: number; recognised: boolean } | null {
  for (const [track, frames] of after.byTrack) {
    const then = before.byTrack.get(track);
    if (then === undefined) continue;
    const [earlier, later] = [arrangementOf(then), arrangementOf(frames)];
    const change = withRecognisedSitters(changeBetween(earlier, later, shutterWeight), earlier, later);
    if (change.subjectLightStops === null) continue;
    const perStop = medianOf(frames, (frame) => frame.facts.uncertaintyPerStop) ?? 0;
    const seen = Math.abs(change.subjectLightStops + change.settingsStops);
    const turned = Math.abs(change.sideToSideStops ?? 0) >= OTHER_SIDE.sideToSideStops ? OTHER_SIDE.addedStops : 0;
    return {
      stops: change.subjectLightStops,
      uncertaintyStops: perStop * seen + turned,
      recognised: change.sittersRecognised,
    };
  }
  return null;
}
