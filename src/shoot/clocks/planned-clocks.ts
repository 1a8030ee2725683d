import type { PlannedClock, ShootPlan } from '../../contracts/plan.js';
import type { FrameMeasurement } from '../../contracts/measurement.js';
import { cameraOf } from '../tracks.js';
import type { JudgedFrameInput } from '../input.js';

/** The clock that the plan tells of a frame's camera; named by model, serial number or all that the file tells. */
export function plannedClockOf({ cameraClocks = [] }: ShootPlan, measurement: FrameMeasurement): PlannedClock | null {
  const { cameraModel, cameraSerial } = measurement.exposure;
  const names = [cameraOf(measurement), cameraModel, cameraSerial];
  return cameraClocks.find(({ camera }) => names.includes(camera)) ?? null;
}

/** Cameras of the plan's clocks that no frame is of. */
export function clocksWithoutFrames(plan: ShootPlan, frames: readonly JudgedFrameInput[]): string[] {
  const told = new Set(
    frames.map(({ measurement }) => (measurement === null ? null : plannedClockOf(plan, measurement))),
  );
  return (plan.cameraClocks ?? []).filter((clock) => !told.has(clock)).map(({ camera }) => camera);
}
