import { z } from 'zod';
import { count, stops } from './quantities.js';

export const ComplianceVerdict = z.enum(['as-planned', 'check', 'off-plan', 'cannot-tell']);
export type ComplianceVerdict = z.infer<typeof ComplianceVerdict>;

/** One planned set-up against what was shot. A null part: the plan, or the frames, say nothing of it. */
export const PlanCompliance = z.strictObject({
  name: z.string().describe("the planned set-up's name"),
  setups: z.array(z.string()).describe('ids of the set-ups that its frames are in'),
  frames: count(),
  verdict: ComplianceVerdict,
  /** Camera settings against those that the plan names, or that its meter reading asks for. */
  settings: z
    .strictObject({
      basis: z.enum(['target', 'reading']),
      asked: z.string(),
      /** How much brighter the settings make the frames than planned, in the median. */
      fromPlanStops: stops(),
      thirdStopSteps: z.number().int().describe('steps of exposure to add to be as planned'),
      framesOff: count(),
    })
    .nullable(),
  /** Light on the sitters who are also in another planned set-up: as measured against as the two readings say. */
  level: z
    .strictObject({
      against: z.string().describe('the other planned set-up'),
      readStops: stops(),
      measuredStops: stops(),
      fromPlanStops: stops().describe('measured minus read; positive: more light than the readings say'),
      thirdStopSteps: z.number().int().describe('steps of light to add to be as read'),
      uncertaintyStops: stops().min(0),
    })
    .nullable(),
  /** Face minus lower body: light, skin against skin, against what distance, height and size of the light give. */
  fallOff: z
    .strictObject({
      expectedStops: stops(),
      measuredStops: stops(),
      fromPlanStops: stops().describe('measured minus expected; positive: less light below than the plan gives'),
      uncertaintyStops: stops().min(0),
    })
    .nullable(),
  because: z.array(z.string()).describe('plain sentences with the numbers'),
});
export type PlanCompliance = z.infer<typeof PlanCompliance>;
