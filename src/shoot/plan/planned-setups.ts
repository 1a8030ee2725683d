import type { PlannedSetup, ShootPlan } from '../../contracts/plan.js';
import type { CapturedAt } from '../../contracts/exposure.js';
import type { FrameFacts } from '../facts.js';
import { compareNames } from '../order.js';

const OFFSET = /(Z|[+-]\d\d:\d\d)$/;

/** Milliseconds of a time as the clock on the wall shows it, whatever its offset. */
const wallClockMs = (iso: string): number => Date.parse(`${iso.replace(OFFSET, '')}Z`);

function at(captured: CapturedAt, clockAheadMs: number, plannedTime: string): 'before' | 'at' | 'after' | null {
  const instant = OFFSET.test(plannedTime);
  if (instant && !captured.offsetKnown) return null;
  const shown = instant
    ? captured.epochMs - Date.parse(plannedTime)
    : wallClockMs(captured.iso) - wallClockMs(plannedTime);
  const apart = shown - clockAheadMs;
  return apart < 0 ? 'before' : apart > 0 ? 'after' : 'at';
}

/** Whether a frame belongs to a planned set-up: by name and by time, where both are told by both. */
function fits({ name, measurement, clockAheadMs }: FrameFacts, planned: PlannedSetup): boolean {
  const { frames, times } = planned;
  if (frames !== undefined && (compareNames(name, frames.first) < 0 || compareNames(name, frames.last) > 0))
    return false;
  if (times === undefined) return true;
  const captured = measurement.exposure.capturedAt;
  if (captured === null) return false;
  const from = at(captured, clockAheadMs, times.from);
  const until = at(captured, clockAheadMs, times.until);
  return from !== null && until !== null && from !== 'before' && until !== 'after';
}

/** The planned set-up of each frame, by frame name. A frame that fits several belongs to the first of them. */
export function plannedSetupsOf(plan: ShootPlan, facts: readonly FrameFacts[]): ReadonlyMap<string, PlannedSetup> {
  const found = new Map<string, PlannedSetup>();
  if (plan.setups === undefined) return found;
  for (const frame of facts) {
    const planned = plan.setups.find((candidate) => fits(frame, candidate));
    if (planned !== undefined) found.set(frame.name, planned);
  }
  return found;
}

/** The plan as it holds for one frame: what its set-up says goes before what the whole plan says. */
export function planForFrame(plan: ShootPlan, planned: PlannedSetup | null): ShootPlan {
  if (planned === null) return plan;
  return {
    ...plan,
    toleranceStops: planned.toleranceStops ?? plan.toleranceStops,
    ...(planned.target === undefined ? {} : { target: planned.target }),
  };
}
