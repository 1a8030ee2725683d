import { z } from 'zod';
import { ERROR_CODES } from '../errors.js';
import { FrameFailure } from './jobs.js';
import { ShootPlan } from './plan.js';
import { Webhook } from './webhook.js';
import { count } from './quantities.js';

export const CreateShootBody = z.strictObject({
  name: z.string().min(1).max(200),
  plan: ShootPlan.optional(),
  webhook: Webhook.optional(),
});
export type CreateShootBody = z.infer<typeof CreateShootBody>;

export const FrameState = z.enum(['received', 'measuring', 'measured', 'failed']);
export type FrameState = z.infer<typeof FrameState>;

export const ShootProgress = z.object({
  received: count(),
  measuring: count(),
  measured: count(),
  failed: count(),
  total: count(),
});
export type ShootProgress = z.infer<typeof ShootProgress>;

export const ShootStatus = z.object({
  id: z.string(),
  name: z.string(),
  createdAt: z.string(),
  /** `open`: takes frames. `measuring`: complete, some frames still to measure. `ready`: complete and all done. */
  state: z.enum(['open', 'measuring', 'ready']),
  progress: ShootProgress,
  plan: ShootPlan,
});
export type ShootStatus = z.infer<typeof ShootStatus>;

export const FrameReceipt = z.object({
  name: z.string(),
  sha256: z.string(),
  bytes: count(),
  state: FrameState,
  /** False when the same bytes were here under the same name already. */
  created: z.boolean(),
  href: z.string(),
});
export type FrameReceipt = z.infer<typeof FrameReceipt>;

/** Problem details, RFC 9457. */
export const Problem = z.object({
  type: z.string(),
  title: z.string(),
  status: z.number().int(),
  code: z.enum(ERROR_CODES),
  detail: z.string(),
  instance: z.string().optional(),
  retryable: z.boolean(),
});
export type Problem = z.infer<typeof Problem>;

/** What a problem's `type` points to. */
export const ProblemKind = z.object({
  code: z.enum(ERROR_CODES),
  status: z.number().int(),
  retryable: z.boolean(),
  title: z.string(),
});
export type ProblemKind = z.infer<typeof ProblemKind>;

/** One part of a multipart upload: either taken, or refused with its reason; the others are unharmed. */
export const UploadOutcome = z.object({
  frames: z.array(FrameReceipt),
  refused: z.array(z.object({ name: z.string(), problem: Problem })),
});
export type UploadOutcome = z.infer<typeof UploadOutcome>;

/** Server-sent events on /events: event name -> data. */
export const FrameEvent = z.object({
  shootId: z.string(),
  name: z.string(),
  state: FrameState,
  failure: FrameFailure.optional(),
  progress: ShootProgress,
});
export type FrameEvent = z.infer<typeof FrameEvent>;

export const ReadyState = z.object({
  ready: z.boolean(),
  /** Names of the parts that are missing. */
  missing: z.array(z.string()),
  parts: z.record(z.string(), z.string()),
});
export type ReadyState = z.infer<typeof ReadyState>;
