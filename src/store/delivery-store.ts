import type { Kysely, Selectable } from 'kysely';
import type { GroupCommit } from './group-commit.js';
import type { DeliveryRecord, DeliveryStore } from './port.js';
import { type DeliveryRow, type Tables, UNFINISHED } from './tables.js';

const deliveryFromRow = (row: Selectable<DeliveryRow>): DeliveryRecord => ({
  id: row.id,
  shootId: row.shoot_id,
  studio: row.studio,
  event: row.event,
  url: row.url,
  body: row.body,
  state: row.state,
  attempts: Number(row.attempts),
  lastResult: row.last_result,
  createdAt: row.created_at,
  nextAttemptAt: row.next_at,
});

/** Webhooks on their way, in the same database and the same commits as the shoots that they tell of. */
export function createDeliveryStore(db: Kysely<Tables>, commits: GroupCommit<Tables>): DeliveryStore {
  return {
    async listUntold(shootId) {
      let untold = db
        .selectFrom('shoots')
        .select('id')
        .where('webhook', 'is not', null)
        .where('told_at', 'is', null)
        .where('completed_at', 'is not', null)
        .where((eb) =>
          eb.not(
            eb.exists(
              eb.selectFrom('frames').select('name').whereRef('shoot_id', '=', 'shoots.id').where(UNFINISHED).limit(1),
            ),
          ),
        );
      if (shootId !== undefined) untold = untold.where('id', '=', shootId);
      return (await untold.orderBy('id').execute()).map(({ id }) => id);
    },

    announce(shootId, at, deliveries) {
      return commits.write(shootId, async (trx) => {
        const told = await trx
          .updateTable('shoots')
          .set({ told_at: at })
          .where('id', '=', shootId)
          .where('told_at', 'is', null)
          .returning('studio')
          .execute();
        const [shoot] = told;
        if (shoot === undefined) return false;
        for (const { id, event, url, body } of deliveries) {
          const row = { id, shoot_id: shootId, studio: shoot.studio, event, url, body, state: 'waiting' as const, attempts: 0, last_result: null, created_at: at, next_at: at }; // prettier-ignore
          await trx.insertInto('webhook_deliveries').values(row).execute();
        }
        return true;
      });
    },

    async list(shootId) {
      const rows = await db.selectFrom('webhook_deliveries').selectAll().where('shoot_id', '=', shootId).orderBy('created_at').orderBy('event').execute(); // prettier-ignore
      return rows.map(deliveryFromRow);
    },

    async listWaiting() {
      const rows = await db.selectFrom('webhook_deliveries').select(['id', 'next_at', 'studio', 'url']).where('state', '=', 'waiting').orderBy('next_at').execute(); // prettier-ignore
      return rows.flatMap(({ id, next_at: at, studio, url }) => (at === null ? [] : [{ id, at, studio, url }]));
    },

    async claim({ id, at }, until) {
      const claiming = db
        .updateTable('webhook_deliveries')
        .set((eb) => ({ next_at: until, attempts: eb('attempts', '+', 1) }))
        .where('id', '=', id)
        .where('state', '=', 'waiting')
        .where('next_at', '=', at)
        .returningAll();
      const row = await commits.alone(() => claiming.executeTakeFirst());
      return row === undefined ? null : deliveryFromRow(row);
    },

    async settle({ id, at }, { state, lastResult, nextAttemptAt }) {
      const settling = db
        .updateTable('webhook_deliveries')
        .set({ state, last_result: lastResult, next_at: nextAttemptAt })
        .where('id', '=', id)
        .where('state', '=', 'waiting')
        .where('next_at', '=', at)
        .returning('id');
      const settled = await commits.alone(() => settling.execute());
      return settled.length > 0;
    },
  };
}
