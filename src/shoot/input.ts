import type { FrameFailure } from '../contracts/jobs.js';
import type { FrameMeasurement } from '../contracts/measurement.js';
import type { ShootPlan } from '../contracts/plan.js';

/** One frame as judging sees it: measured, or failed with its reason. */
export interface JudgedFrameInput {
  name: string;
  measurement: FrameMeasurement | null;
  failure: FrameFailure | null;
  /** Where the whole measurement can be read; null when there is none. */
  measurementHref: string | null;
}

export interface JudgeInput {
  shoot: { id: string; name: string };
  plan: ShootPlan;
  frames: readonly JudgedFrameInput[];
}
