import type { LightDrift } from '../contracts/report.js';
import { rounded } from './known.js';
import type { LightKindDecision } from './light-kind.js';
import type { SetupState } from './setup-state.js';
import { signedStops } from './wording.js';

const RESTS_ON = {
  both: 'wall and sitters agree',
  wall: 'only the wall tells it',
  subject: 'only the sitters tell it',
} as const;

/** A set-up's drift as the report tells it: rate, error, how much in all, and what to do about it. */
export function describeDrift({ drift, frames }: SetupState, light: LightKindDecision): LightDrift | null {
  if (drift === null) return null;
  const [first, last] = [frames[drift.first], frames[drift.last]];
  if (first === undefined || last === undefined) return null;
  const total = drift.stopsPerFrame * (drift.last - drift.first);
  const advice =
    light.kind === 'flash'
      ? 'Let the flash recharge fully, or change its battery, and meter again.'
      : 'Let lamps warm up before metering, mind the daylight, and meter again.';
  return {
    stopsPer100Frames: rounded(100 * drift.stopsPerFrame) ?? 0,
    errorStopsPer100Frames: rounded(100 * drift.errorStopsPerFrame) ?? 0,
    totalStops: rounded(total) ?? 0,
    firstFrame: first.facts.name,
    lastFrame: last.facts.name,
    witnesses: drift.witnesses,
    because: `The light drifts by ${signedStops(100 * drift.stopsPerFrame)} stop in 100 frames (uncertain by ${(100 * drift.errorStopsPerFrame).toFixed(2)}; ${RESTS_ON[drift.witnesses]}): ${signedStops(total)} stop from ${first.facts.name} to ${last.facts.name}. ${advice}`,
  };
}
