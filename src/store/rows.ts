import type { Selectable } from 'kysely';
import { FrameFailure } from '../contracts/jobs.js';
import type { FrameMeasurement } from '../contracts/measurement.js';
import { ShootPlan } from '../contracts/plan.js';
import { Webhook } from '../contracts/webhook.js';
import type { FrameRecord, MeasuredFrameRecord, ShootRecord } from './port.js';
import type { FrameRow, ShootRow } from './tables.js';

export function shootFromRow(row: Selectable<ShootRow>): ShootRecord {
  return {
    id: row.id,
    name: row.name,
    studio: row.studio,
    plan: ShootPlan.parse(JSON.parse(row.plan)),
    createdAt: row.created_at,
    completedAt: row.completed_at,
    version: Number(row.version),
    frameCount: Number(row.frame_count),
    webhook: row.webhook === null ? null : Webhook.parse(JSON.parse(row.webhook)),
  };
}

/** Every column but the measurement. */
export const FRAME_COLUMNS = [
  'shoot_id',
  'name',
  'sha256',
  'bytes',
  'state',
  'attempts',
  'failure',
  'received_at',
] as const;

export function frameFromRow(row: Pick<Selectable<FrameRow>, (typeof FRAME_COLUMNS)[number]>): FrameRecord {
  return {
    shootId: row.shoot_id,
    name: row.name,
    sha256: row.sha256,
    bytes: Number(row.bytes),
    state: row.state,
    attempts: Number(row.attempts),
    failure: row.failure === null ? null : FrameFailure.parse(JSON.parse(row.failure)),
    receivedAt: row.received_at,
  };
}

/** The measurement was checked when it came in and is not checked again at every reading. */
export function measuredFrameFromRow(row: Selectable<FrameRow>): MeasuredFrameRecord {
  return {
    ...frameFromRow(row),
    measurement: row.measurement === null ? null : (JSON.parse(row.measurement) as FrameMeasurement),
  };
}
