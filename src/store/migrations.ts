import { type Kysely, type Migration, Migrator, sql } from 'kysely';
import { StopledgerError } from '../errors.js';
import { FAILED, type Tables, UNFINISHED } from './tables.js';

export type Database = 'sqlite' | 'postgres';

/** Text that compares by its code points, as SQLite's does, whatever language the database was made for. */
const exactText = (database: Database) => (database === 'postgres' ? sql`text collate "C"` : 'text');

const first = (database: Database): Migration => ({
  async up(db: Kysely<unknown>): Promise<void> {
    await db.schema
      .createTable('shoots')
      .addColumn('id', 'text', (column) => column.primaryKey())
      .addColumn('name', 'text', (column) => column.notNull())
      .addColumn('plan', 'text', (column) => column.notNull())
      .addColumn('created_at', 'text', (column) => column.notNull())
      .addColumn('completed_at', 'text')
      .addColumn('version', 'bigint', (column) => column.notNull())
      .addColumn('frame_count', 'integer', (column) => column.notNull())
      .execute();
    await db.schema
      .createTable('frames')
      .addColumn('shoot_id', 'text', (column) => column.notNull().references('shoots.id').onDelete('cascade'))
      .addColumn('name', exactText(database), (column) => column.notNull())
      .addColumn('sha256', 'text', (column) => column.notNull())
      .addColumn('bytes', 'bigint', (column) => column.notNull())
      .addColumn('state', 'text', (column) => column.notNull())
      .addColumn('attempts', 'integer', (column) => column.notNull())
      .addColumn('failure', 'text')
      .addColumn('measurement', 'text')
      .addColumn('received_at', exactText(database), (column) => column.notNull())
      .addPrimaryKeyConstraint('frames_key', ['shoot_id', 'name'])
      .execute();
    await db.schema.createIndex('frames_arrival').on('frames').columns(['shoot_id', 'received_at', 'name']).execute();
    await db.schema.createIndex('frames_shoot_state').on('frames').columns(['shoot_id', 'state']).execute();
  },
});

/** What is not done yet, however much is: asked for every few seconds by every process that shares the store. */
const unfinished: Migration = {
  async up(db: Kysely<unknown>): Promise<void> {
    await sql`create index frames_unfinished on frames (received_at, shoot_id, name) where ${UNFINISHED}`.execute(db);
  },
};

/** Few among many: counted for whoever watches the service. */
const failed: Migration = {
  async up(db: Kysely<unknown>): Promise<void> {
    await sql`create index frames_failed on frames (shoot_id, name) where ${FAILED}`.execute(db);
  },
};

const webhooksAndRemovals = (database: Database): Migration => ({
  async up(db: Kysely<unknown>): Promise<void> {
    await db.schema.alterTable('shoots').addColumn('webhook', 'text').execute();
    await db.schema.alterTable('shoots').addColumn('told_at', 'text').execute();
    await db.schema
      .createTable('webhook_deliveries')
      .addColumn('id', 'text', (column) => column.primaryKey())
      .addColumn('shoot_id', 'text', (column) => column.notNull().references('shoots.id').onDelete('cascade'))
      .addColumn('event', 'text', (column) => column.notNull())
      .addColumn('url', 'text', (column) => column.notNull())
      .addColumn('body', 'text', (column) => column.notNull())
      .addColumn('state', 'text', (column) => column.notNull())
      .addColumn('attempts', 'integer', (column) => column.notNull())
      .addColumn('last_result', 'text')
      .addColumn('created_at', 'text', (column) => column.notNull())
      .addColumn('next_at', exactText(database))
      .execute();
    await db.schema.createIndex('webhook_deliveries_shoot').on('webhook_deliveries').column('shoot_id').execute();
    await sql`create index webhook_deliveries_waiting on webhook_deliveries (next_at) where state = 'waiting'`.execute(db); // prettier-ignore
    await db.schema
      .createTable('removals')
      .addColumn('shoot_id', 'text', (column) => column.primaryKey())
      .addColumn('removed_at', 'text', (column) => column.notNull())
      .execute();
  },
});

const studios: Migration = {
  async up(db: Kysely<unknown>): Promise<void> {
    await db.schema.alterTable('shoots').addColumn('studio', 'text').execute();
    await db.schema.alterTable('webhook_deliveries').addColumn('studio', 'text').execute();
  },
};

/** Applied in order of their names; one that has been released is never changed. */
const migrationsFor = (database: Database): Record<string, Migration> => ({
  '0001-shoots-and-frames': first(database),
  '0002-unfinished-frames': unfinished,
  '0003-failed-frames': failed,
  '0004-webhooks-and-removals': webhooksAndRemovals(database),
  '0005-studios': studios,
});

/**
 * Brings the tables up to date; safe when several processes start together (on PostgreSQL they take turns by an
 * advisory lock). Throws `bad-configuration`.
 */
export async function migrate(db: Kysely<Tables>, database: Database): Promise<void> {
  const migrator = new Migrator({ db, provider: { getMigrations: () => Promise.resolve(migrationsFor(database)) } });
  const { error } = await migrator.migrateToLatest();
  if (error !== undefined) {
    const reason = error instanceof Error ? error.message : 'no reason given';
    throw new StopledgerError('bad-configuration', `the shoot records could not be brought up to date: ${reason}`, {
      cause: error,
    });
  }
}
