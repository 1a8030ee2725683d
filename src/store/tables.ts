import { type ColumnType, type SqlBool, sql } from 'kysely';
import type { FrameState } from '../contracts/api.js';
import type { DeliveryState, WebhookEvent } from '../contracts/webhook.js';

/**
 * The tables as both SQLite and PostgreSQL hold them: JSON and times (ISO 8601, UTC) as text, no booleans.
 * PostgreSQL's driver gives bigint as text, so whole numbers are read through `Number()`.
 */
export interface Tables {
  shoots: ShootRow;
  frames: FrameRow;
  webhook_deliveries: DeliveryRow;
  removals: RemovalRow;
}

/** Frames without an outcome; as text and not with parameters, so that both databases know the index made for it. */
export const UNFINISHED = sql<SqlBool>`state in ('received', 'measuring')`;

/** Frames that could not be measured; a text for the same reason. */
export const FAILED = sql<SqlBool>`state = 'failed'`;

type Whole = ColumnType<number | string, number | string, number | string>;

export interface ShootRow {
  id: string;
  name: string;
  plan: string;
  created_at: string;
  completed_at: string | null;
  version: Whole;
  /** Number of its frames, so that adding one does not count them. */
  frame_count: Whole;
  webhook: string | null;
  /** When its webhooks were put on their way. */
  told_at: string | null;
  studio: string | null;
}

export interface DeliveryRow {
  id: string;
  shoot_id: string;
  /** As its shoot has it. */
  studio: string | null;
  event: WebhookEvent;
  url: string;
  body: string;
  state: DeliveryState;
  attempts: Whole;
  last_result: string | null;
  created_at: string;
  /** When it is tried next; rises with every attempt, so that it also names the attempt. */
  next_at: string | null;
}

/** A shoot that is gone while not everything that was kept of it elsewhere is. */
export interface RemovalRow {
  shoot_id: string;
  removed_at: string;
}

export interface FrameRow {
  shoot_id: string;
  name: string;
  sha256: string;
  bytes: Whole;
  state: FrameState;
  attempts: Whole;
  failure: string | null;
  measurement: string | null;
  received_at: string;
}
