import { Kysely, PostgresDialect } from 'kysely';
import { withKnownErrors } from '../known-errors.js';
import { migrate } from '../migrations.js';
import type { ShootStore } from '../port.js';
import { createShootStore } from '../shoot-store.js';
import type { Tables } from '../tables.js';
import { type DatabaseLink, connectDatabase } from './connection.js';
import { databaseError, isAway } from './database-error.js';

/** Over connections of its own: a new index on many rows takes longer than any query of the service may. */
async function migrateFirst(link: DatabaseLink): Promise<void> {
  const pool = await connectDatabase(link, Infinity);
  const db = new Kysely<Tables>({ dialect: new PostgresDialect({ pool }) });
  try {
    await migrate(db, 'postgres');
  } finally {
    await db.destroy();
  }
}

/**
 * The shoot records in a PostgreSQL that any number of processes share. Every write locks the row of its shoot first,
 * so that versions rise one by one and no two processes wait for each other in a circle. Throws `bad-configuration`.
 */
export async function openPostgresStore(link: DatabaseLink): Promise<ShootStore> {
  await migrateFirst(link);
  const pool = await connectDatabase(link);
  const db = new Kysely<Tables>({ dialect: new PostgresDialect({ pool }) });
  return withKnownErrors(
    createShootStore(db, {
      lock: (trx, shootId) => trx.selectFrom('shoots').select('id').where('id', '=', shootId).forUpdate().execute(),
      spoilsAll: isAway,
    }),
    databaseError,
  );
}
