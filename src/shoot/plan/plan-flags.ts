import type { Flag } from '../../contracts/report.js';
import type { FrameContext } from '../setup-state.js';
import { signedStops, thirdSteps } from '../wording.js';
import { offPlanStops, type PlanSetting } from '../plan-settings.js';
import { fromReadingStops, readingText } from './reading.js';

/** A setting this far from the plan's is not the plan's: half of the smallest step of a dial. */
export const OFF_PLAN_STOPS = 1 / 6;

/** Settings are known exactly, but for the last digits of a third of a stop. */
const ROUNDING_STOPS = 0.01;

/** Camera settings against the plan's target, else against what the meter's reading asks for. */
export function planFlags(context: FrameContext): Flag[] {
  const { frame, plan, lightKind } = context;
  if (plan.target === undefined) return readingFlags(context);
  const off = offPlanStops(frame.facts, plan.target, lightKind.shutterWeight).filter(
    (setting) => Math.abs(setting.stops) >= OFF_PLAN_STOPS,
  );
  if (off.length === 0) return [];
  const total = off.reduce((sum, setting) => sum + setting.levelStops, 0);
  const told = off.map((setting: PlanSetting) => `${setting.name} ${setting.is} for ${setting.planned}`).join(', ');
  return [
    {
      code: 'settings-off-plan',
      severity: Math.abs(total) > plan.toleranceStops + ROUNDING_STOPS ? 'fault' : 'check',
      stops: total,
      because: `Settings are not the plan's: ${told}; together ${signedStops(total)} stop.`,
    },
  ];
}

/** Any trade of aperture, time and speed will do, as long as the exposure is the reading's. */
function readingFlags({ frame, plan, planned, lightKind }: FrameContext): Flag[] {
  const stops = planned === null ? null : fromReadingStops(frame.facts, planned, lightKind.shutterWeight);
  if (planned === null || stops === null || Math.abs(stops) < OFF_PLAN_STOPS) return [];
  return [
    {
      code: 'settings-off-plan',
      severity: Math.abs(stops) > plan.toleranceStops + ROUNDING_STOPS ? 'fault' : 'check',
      stops,
      because: `In "${planned.name}" the meter read ${readingText(planned)}; these settings give ${signedStops(stops)} stop to that: ${thirdSteps(-stops)} of exposure follow the reading.`,
    },
  ];
}
