import type { ExpressionBuilder, Kysely, Transaction } from 'kysely';
import type { FrameState } from '../contracts/api.js';
import { addFrame } from './add-frame.js';
import { createDeliveryStore } from './delivery-store.js';
import { GroupCommit, type GroupCommitOptions } from './group-commit.js';
import { overviewOf } from './overview.js';
import type { FrameRecord, MeasuredFrameRecord, ShootStore } from './port.js';
import { FRAME_COLUMNS, frameFromRow, measuredFrameFromRow, shootFromRow } from './rows.js';
import { type Tables, UNFINISHED } from './tables.js';

const now = (): string => new Date().toISOString();

/** Measurements are large: others get their turn between pages of them. */
const PAGE = 200;

/** What stands behind a frame in the order of `listFrames`. */
const after =
  ({ receivedAt, name }: FrameRecord) =>
  (eb: ExpressionBuilder<Tables, 'frames'>) =>
    eb.or([eb('received_at', '>', receivedAt), eb.and([eb('received_at', '=', receivedAt), eb('name', '>', name)])]);

/** Shoots, or this one, that were complete before `since`, or were made before it and got no frame after it. */
async function untouched(db: Kysely<Tables>, since: string, shootId?: string): Promise<string[]> {
  let old = db
    .selectFrom('shoots')
    .select('id')
    .where((eb) =>
      eb.or([
        eb('completed_at', '<', since),
        eb.and([
          eb('completed_at', 'is', null),
          eb('created_at', '<', since),
          eb.not(
            eb.exists(
              eb.selectFrom('frames').select('name').whereRef('shoot_id', '=', 'shoots.id').where('received_at', '>=', since).limit(1), // prettier-ignore
            ),
          ),
        ]),
      ]),
    );
  if (shootId !== undefined) old = old.where('id', '=', shootId);
  return (await old.orderBy('created_at').execute()).map(({ id }) => id);
}

/** One shoot changed: what was derived from it is stale. */
async function bumpVersion(trx: Transaction<Tables>, shootId: string): Promise<void> {
  await trx
    .updateTable('shoots')
    .set((eb) => ({ version: eb('version', '+', 1) }))
    .where('id', '=', shootId)
    .execute();
}

/**
 * The shoot records in any database that kysely speaks; see `tables.ts` for what keeps it neutral. Where several
 * processes write at once, `commit.lock` locks the row of the shoot (the key of each piece of work).
 */
export function createShootStore(db: Kysely<Tables>, commit: GroupCommitOptions<Tables> = {}): ShootStore {
  const commits = new GroupCommit(db, commit);

  /** Moves one frame out of one of the `from` states; false when it is in none of them or gone. */
  const move = (
    shootId: string,
    name: string,
    from: FrameState[],
    change: { state: FrameState; measurement?: string; failure?: string; attemptsBy?: number },
  ): Promise<boolean> =>
    commits.write(shootId, async (trx) => {
      const { attemptsBy = 0, ...columns } = change;
      const moved = await trx
        .updateTable('frames')
        .set((eb) => ({ ...columns, attempts: eb('attempts', '+', attemptsBy) }))
        .where('shoot_id', '=', shootId)
        .where('name', '=', name)
        .where('state', 'in', from)
        .returning('name')
        .execute();
      if (moved.length === 0) return false;
      await bumpVersion(trx, shootId);
      return true;
    });

  return {
    async createShoot({ id, name, plan, studio, webhook }) {
      const row = {
        id,
        name,
        plan: JSON.stringify(plan),
        created_at: now(),
        completed_at: null,
        version: 1,
        frame_count: 0,
        webhook: webhook === undefined ? null : JSON.stringify(webhook),
        told_at: null,
        studio,
      };
      await commits.write(id, (trx) => trx.insertInto('shoots').values(row).execute());
      return shootFromRow(row);
    },

    async getShoot(id) {
      const row = await db.selectFrom('shoots').selectAll().where('id', '=', id).executeTakeFirst();
      return row === undefined ? null : shootFromRow(row);
    },

    async completeShoot(id) {
      return commits.write(id, async (trx) => {
        await trx
          .updateTable('shoots')
          .set((eb) => ({ completed_at: now(), version: eb('version', '+', 1) }))
          .where('id', '=', id)
          .where('completed_at', 'is', null)
          .execute();
        const row = await trx.selectFrom('shoots').selectAll().where('id', '=', id).executeTakeFirst();
        return row === undefined ? null : shootFromRow(row);
      });
    },

    async deleteShoot(id, untouchedSince) {
      return commits.write(id, async (trx) => {
        if (untouchedSince !== undefined && !(await untouched(trx, untouchedSince, id)).includes(id)) return false;
        await trx.deleteFrom('webhook_deliveries').where('shoot_id', '=', id).execute();
        await trx.deleteFrom('frames').where('shoot_id', '=', id).execute();
        const gone = await trx.deleteFrom('shoots').where('id', '=', id).returning('id').execute();
        if (gone.length === 0) return false;
        await trx.insertInto('removals').values({ shoot_id: id, removed_at: now() }).execute();
        return true;
      });
    },

    listUntouched: (since) => untouched(db, since),

    async listRemovals() {
      const rows = await db.selectFrom('removals').select('shoot_id').orderBy('removed_at').execute();
      return rows.map(({ shoot_id: id }) => id);
    },

    async removalDone(id) {
      await commits.write(id, (trx) => trx.deleteFrom('removals').where('shoot_id', '=', id).execute());
    },

    deliveries: createDeliveryStore(db, commits),

    async listShoots() {
      const rows = await db.selectFrom('shoots').selectAll().orderBy('created_at').orderBy('id').execute();
      return rows.map(shootFromRow);
    },

    addFrame: (frame) => commits.write(frame.shootId, (trx) => addFrame(trx, frame, now())),

    async getFrameRecord(shootId, name) {
      const row = await db
        .selectFrom('frames')
        .select(FRAME_COLUMNS)
        .where('shoot_id', '=', shootId)
        .where('name', '=', name)
        .executeTakeFirst();
      return row === undefined ? null : frameFromRow(row);
    },

    async getFrame(shootId, name) {
      const row = await db
        .selectFrom('frames')
        .selectAll()
        .where('shoot_id', '=', shootId)
        .where('name', '=', name)
        .executeTakeFirst();
      return row === undefined ? null : measuredFrameFromRow(row);
    },

    async listFrames(shootId) {
      const frames: MeasuredFrameRecord[] = [];
      for (;;) {
        const last = frames.at(-1);
        let page = db.selectFrom('frames').selectAll().where('shoot_id', '=', shootId);
        if (last !== undefined) page = page.where(after(last));
        const rows = await page.orderBy('received_at').orderBy('name').limit(PAGE).execute();
        for (const row of rows) frames.push(measuredFrameFromRow(row));
        if (rows.length < PAGE) return frames;
        await new Promise(setImmediate);
      }
    },

    async progress(shootId) {
      const rows = await db
        .selectFrom('frames')
        .select((eb) => ['state', eb.fn.countAll<number | string>().as('frames')])
        .where('shoot_id', '=', shootId)
        .groupBy('state')
        .execute();
      const progress = { received: 0, measuring: 0, measured: 0, failed: 0, total: 0 };
      for (const { state, frames } of rows) {
        progress[state] = Number(frames);
        progress.total += Number(frames);
      }
      return progress;
    },

    claimFrame: (shootId, name) => move(shootId, name, ['received'], { state: 'measuring', attemptsBy: 1 }),
    releaseFrame: (shootId, name) => move(shootId, name, ['measuring'], { state: 'received', attemptsBy: -1 }),
    storeMeasurement: (shootId, name, measurement) =>
      move(shootId, name, ['received', 'measuring'], { state: 'measured', measurement: JSON.stringify(measurement) }),
    storeFailure: (shootId, name, failure) =>
      move(shootId, name, ['received', 'measuring'], { state: 'failed', failure: JSON.stringify(failure) }),

    async requeueUnfinished(maxAttempts) {
      const cut = await db.selectFrom('frames').select(FRAME_COLUMNS).where('state', '=', 'measuring').execute();
      for (const { shoot_id: shootId, name, attempts } of cut) {
        if (Number(attempts) < maxAttempts) {
          await move(shootId, name, ['measuring'], { state: 'received' });
        } else {
          const message = `the service ended ${attempts} times while this frame was being measured`;
          const failure = JSON.stringify({ code: 'frame-process-died', message });
          await move(shootId, name, ['measuring'], { state: 'failed', failure });
        }
      }
      const waiting = await db
        .selectFrom('frames')
        .select(FRAME_COLUMNS)
        .where('state', '=', 'received')
        .orderBy('received_at')
        .orderBy('name')
        .execute();
      return waiting.map((row): FrameRecord => frameFromRow(row));
    },

    async listUnfinished(last, limit) {
      let page = db.selectFrom('frames').select(FRAME_COLUMNS).where(UNFINISHED);
      if (last !== null) {
        const { receivedAt, shootId, name } = last;
        page = page.where((eb) =>
          eb(eb.refTuple('received_at', 'shoot_id', 'name'), '>', eb.tuple(receivedAt, shootId, name)),
        );
      }
      const rows = await page.orderBy('received_at').orderBy('shoot_id').orderBy('name').limit(limit).execute();
      return rows.map((row): FrameRecord => frameFromRow(row));
    },

    overview: () => overviewOf(db),

    async close() {
      await commits.idle();
      await db.destroy();
    },
  };
}
