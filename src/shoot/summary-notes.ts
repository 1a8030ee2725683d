import type { PlanCompliance } from '../contracts/compliance.js';
import type { ShootPlan } from '../contracts/plan.js';
import type { Setup, ShootSummary } from '../contracts/report.js';
import { cautionsFor } from './cautions.js';
import { clocksWithoutFrames } from './clocks/planned-clocks.js';
import type { JudgedFrameInput } from './input.js';
import type { LightKindDecision } from './light-kind.js';

const FINISHED =
  'Finished exports: every frame is judged on what it shows only; settings, where files still carry any, are left out, and set-ups are told by looks. What the light did and what editing did cannot be told apart.';

/** Adds to a summary how the shoot stands to its plan and look, and what advice on lights has to say with it. */
export function withNotes(
  summary: Omit<ShootSummary, 'notes'>,
  plan: ShootPlan,
  setups: readonly Setup[],
  compliance: readonly PlanCompliance[],
  light: LightKindDecision,
  frames: readonly JudgedFrameInput[],
): ShootSummary {
  const looks = setups.flatMap(({ id, look }) => (look === null ? [] : look.because.map((text) => `${id}: ${text}`)));
  const advised =
    compliance.some(({ level, verdict }) => level !== null && verdict !== 'as-planned' && level.thirdStopSteps !== 0) ||
    setups.some(({ look }) => look !== null && look.verdict !== null && look.verdict !== 'within');
  const cautions = advised ? cautionsFor(new Set(['light-changed'] as const), light) : [];
  return {
    ...summary,
    notes: [
      ...(plan.finished === true ? [FINISHED] : []),
      ...summary.clocks.map(({ because }) => because),
      ...clocksWithoutFrames(plan, frames).map((camera) => `No frame is of ${camera}, whose clock the plan tells.`),
      ...compliance.flatMap(({ because }) => because),
      ...looks,
    ],
    cautions: [...new Set([...summary.cautions, ...cautions])],
  };
}
