import type { PlanCompliance } from '../../contracts/compliance.js';
import type { PlannedSetup, ShootPlan } from '../../contracts/plan.js';
import { thirdStopSteps } from '../../photometry/stops.js';
import { known, medianKnown, rounded } from '../known.js';
import type { LightKindDecision } from '../light-kind.js';
import { fromPlanStops } from '../plan-settings.js';
import type { SequenceFrame } from '../sequence.js';
import { settingsText, stopsText, thirdSteps } from '../wording.js';
import { NOTHING, type Part, type Shared, type Shot } from './compliance-part.js';
import { OFF_PLAN_STOPS } from './plan-flags.js';
import { planForFrame } from './planned-setups.js';
import { fromReadingStops, isOfContinuousLight, readingText } from './reading.js';

/** Settings as they were against the target, else against what the meter read. */
export function settingsPart(
  { planned }: Shot,
  frames: readonly SequenceFrame[],
  { plan, light }: Shared,
): Part<NonNullable<PlanCompliance['settings']>> {
  const { target, toleranceStops } = planForFrame(plan, planned);
  if (target === undefined && planned.reading === undefined) return NOTHING;
  const stops = frames.map(({ facts }) =>
    target === undefined
      ? fromReadingStops(facts, planned, light.shutterWeight)
      : fromPlanStops(facts, target, light.shutterWeight),
  );
  const usual = medianKnown(stops);
  if (usual === null) return { ...NOTHING, because: [untold({ ...planned, target }, plan, light)] };
  const framesOff = known(stops).filter((value) => Math.abs(value) >= OFF_PLAN_STOPS).length;
  const asked =
    target === undefined
      ? readingText(planned)
      : settingsText(target.fNumber ?? null, target.exposureTimeSeconds ?? null, target.iso ?? null);
  const basis = target === undefined ? 'reading' : 'target';
  const source = basis === 'reading' ? `the meter read ${asked}` : `${asked} was planned`;
  const off = Math.abs(usual) < OFF_PLAN_STOPS;
  const odd = framesOff === 0 ? '' : `; ${framesOff} of ${frames.length} frames are not set so`;
  return {
    value: {
      basis,
      asked,
      fromPlanStops: rounded(usual) ?? 0,
      thirdStopSteps: thirdStopSteps(-usual) + 0,
      framesOff,
    },
    verdict: Math.abs(usual) > toleranceStops + 0.01 ? 'off-plan' : off && framesOff === 0 ? 'as-planned' : 'check',
    because: [
      off
        ? `"${planned.name}": ${source}, and so it was set${odd}.`
        : `"${planned.name}": ${source}; it was set ${stopsText(usual)} ${usual > 0 ? 'brighter' : 'darker'} (${thirdSteps(-usual)} of exposure follow the plan)${odd}.`,
    ],
  };
}

/** Why a target or a reading could not be compared. */
function untold({ name, reading, target }: PlannedSetup, plan: ShootPlan, light: LightKindDecision): string {
  if (plan.finished === true)
    return `"${name}": finished exports are judged on what they show, so settings are not held against the plan.`;
  if (target === undefined && reading !== undefined) {
    const ofContinuousLight = isOfContinuousLight(reading);
    if (ofContinuousLight && light.shutterWeight < 1)
      return `"${name}": an exposure value or lux says nothing of a flash, so it is not compared; give the reading as an f-number.`;
    if (!ofContinuousLight && reading.exposureTimeSeconds === undefined && light.shutterWeight > 0)
      return `"${name}": the reading names no exposureTimeSeconds, which continuous light needs, so it is not compared.`;
  }
  return `"${name}": the files do not tell the settings, so they are not held against the plan.`;
}
