import type { ComplianceVerdict } from '../../contracts/compliance.js';
import type { PlannedSetup, ShootPlan } from '../../contracts/plan.js';
import type { LightKindDecision } from '../light-kind.js';
import type { SequenceFrame } from '../sequence.js';

/** The frames of one planned set-up, of one camera, in time. */
export interface Shot {
  planned: PlannedSetup;
  /** Numbered by the shoot's cameras; frames of two are never compared. */
  byTrack: Map<number, SequenceFrame[]>;
  setups: string[];
}

/** What holds for the whole shoot. */
export interface Shared {
  plan: ShootPlan;
  light: LightKindDecision;
}

/** One respect in which a planned set-up was compared; nulls where nothing could be. */
export interface Part<T> {
  value: T | null;
  verdict: ComplianceVerdict | null;
  because: string[];
}

export const NOTHING: Part<never> = { value: null, verdict: null, because: [] };

export const verdictOf = (
  differenceStops: number,
  toleranceStops: number,
  uncertaintyStops: number,
): ComplianceVerdict => {
  const size = Math.abs(differenceStops);
  if (size > toleranceStops + uncertaintyStops) return 'off-plan';
  return size > toleranceStops ? 'check' : 'as-planned';
};
