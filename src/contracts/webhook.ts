import { z } from 'zod';
import { FlagCode, Verdict } from './report.js';
import { count, share } from './quantities.js';

/** `completed`: the shoot is complete and every frame is done. `flagged`: the same, and not every frame is consistent. */
export const WebhookEvent = z.enum(['completed', 'flagged']);
export type WebhookEvent = z.infer<typeof WebhookEvent>;

/** Where a shoot's end is told, and of which kind. */
export const Webhook = z.strictObject({
  url: z.string().min(1).max(2000).describe('at one of the origins of WEBHOOK_ALLOW'),
  on: z.array(WebhookEvent).min(1).default(['completed', 'flagged']),
});
export type Webhook = z.infer<typeof Webhook>;

/** The body of a webhook. Numbers and names; never a picture. */
export const WebhookBody = z.strictObject({
  type: z.enum(['shoot.completed', 'shoot.flagged']),
  timestamp: z.string().describe('when the shoot was seen to be done'),
  data: z.strictObject({
    shootId: z.string(),
    name: z.string(),
    frames: count(),
    consistent: count(),
    check: count(),
    off: count(),
    unreadable: count(),
    consistentShare: share(),
    findings: z.array(z.string()),
    report: z.string().describe('address of the report on the service'),
    /** `shoot.flagged` only: frames that are not consistent, at most 200 of them. */
    flagged: z.array(z.strictObject({ name: z.string(), verdict: Verdict, flags: z.array(FlagCode) })).optional(),
    flaggedLeftOut: count().optional(),
  }),
});
export type WebhookBody = z.infer<typeof WebhookBody>;

export const DeliveryState = z.enum(['waiting', 'delivered', 'given-up']);
export type DeliveryState = z.infer<typeof DeliveryState>;

/** One webhook on its way; told again under the same id until it is answered with success. */
export const Delivery = z.object({
  id: z.string(),
  event: WebhookEvent,
  url: z.string(),
  state: DeliveryState,
  attempts: count(),
  /** What came of the last attempt; null before the first. */
  lastResult: z.string().nullable(),
  createdAt: z.string(),
  /** When it is tried next; null when it is delivered or given up. */
  nextAttemptAt: z.string().nullable(),
});
export type Delivery = z.infer<typeof Delivery>;

/** A union, since OpenAPI's generator writes a named object that is nullable as one that null does not fit. */
export const ShootWebhooks = z.object({ webhook: z.union([Webhook, z.null()]), deliveries: z.array(Delivery) });
export type ShootWebhooks = z.infer<typeof ShootWebhooks>;
