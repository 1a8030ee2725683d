import type { ColumnType } from 'kysely';
import type { FrameState } from '../contracts/api.js';

/**
 * The tables as both SQLite and PostgreSQL hold them: JSON and times (ISO 8601, UTC) as text, no booleans.
 * PostgreSQL's driver gives bigint as text, so whole numbers are read through `Number()`.
 */
export interface Tables {
  shoots: ShootRow;
  frames: FrameRow;
}

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
