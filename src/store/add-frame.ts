import type { Transaction } from 'kysely';
import { StopledgerError } from '../errors.js';
import type { FrameRecord, NewFrame } from './port.js';
import { FRAME_COLUMNS, frameFromRow } from './rows.js';
import type { Tables } from './tables.js';

async function existing(trx: Transaction<Tables>, frame: NewFrame): Promise<FrameRecord | null> {
  const row = await trx
    .selectFrom('frames')
    .select(FRAME_COLUMNS)
    .where('shoot_id', '=', frame.shootId)
    .where('name', '=', frame.name)
    .executeTakeFirst();
  if (row === undefined) return null;
  if (row.sha256 !== frame.sha256) {
    throw new StopledgerError(
      'frame-name-taken',
      `${JSON.stringify(frame.name)} is here with SHA-256 ${row.sha256}; the bytes sent have ${frame.sha256}`,
    );
  }
  return frameFromRow(row);
}

async function whyClosed(trx: Transaction<Tables>, frame: NewFrame): Promise<StopledgerError> {
  const shoot = await trx
    .selectFrom('shoots')
    .select(['completed_at'])
    .where('id', '=', frame.shootId)
    .executeTakeFirst();
  if (shoot === undefined) {
    return new StopledgerError('shoot-not-found', `there is no shoot ${JSON.stringify(frame.shootId)}`);
  }
  if (shoot.completed_at === null) {
    return new StopledgerError('too-many-frames', `a shoot holds at most ${frame.maxFrames} frames`);
  }
  return new StopledgerError(
    'shoot-complete',
    `shoot ${frame.shootId} was completed and takes no new frame ${JSON.stringify(frame.name)}`,
  );
}

/**
 * Adds a frame's row, or finds the one of the same bytes. The shoot's row is changed first: that both tells
 * whether it still takes frames and keeps a second process from completing or deleting it meanwhile.
 */
export async function addFrame(
  trx: Transaction<Tables>,
  frame: NewFrame,
  receivedAt: string,
): Promise<{ frame: FrameRecord; created: boolean }> {
  const here = await existing(trx, frame);
  if (here !== null) return { frame: here, created: false };

  const open = await trx
    .updateTable('shoots')
    .set((eb) => ({ version: eb('version', '+', 1), frame_count: eb('frame_count', '+', 1) }))
    .where('id', '=', frame.shootId)
    .where('completed_at', 'is', null)
    .where('frame_count', '<', frame.maxFrames)
    .returning('id')
    .execute();
  if (open.length === 0) throw await whyClosed(trx, frame);

  const row = {
    shoot_id: frame.shootId,
    name: frame.name,
    sha256: frame.sha256,
    bytes: frame.bytes,
    state: 'received' as const,
    attempts: 0,
    failure: null,
    measurement: null,
    received_at: receivedAt,
  };
  const added = await trx
    .insertInto('frames')
    .values(row)
    .onConflict((conflict) => conflict.columns(['shoot_id', 'name']).doNothing())
    .returning(FRAME_COLUMNS)
    .executeTakeFirst();
  if (added !== undefined) return { frame: frameFromRow(added), created: true };

  // Another process was faster.
  await trx
    .updateTable('shoots')
    .set((eb) => ({ frame_count: eb('frame_count', '-', 1) }))
    .where('id', '=', frame.shootId)
    .execute();
  const theirs = await existing(trx, frame);
  if (theirs === null) throw new StopledgerError('internal', `the row of ${JSON.stringify(frame.name)} vanished`);
  return { frame: theirs, created: false };
}
