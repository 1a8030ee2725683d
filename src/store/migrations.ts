import { type Kysely, type Migration, Migrator } from 'kysely';
import { StopledgerError } from '../errors.js';
import type { Tables } from './tables.js';

const first: Migration = {
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
      .addColumn('name', 'text', (column) => column.notNull())
      .addColumn('sha256', 'text', (column) => column.notNull())
      .addColumn('bytes', 'bigint', (column) => column.notNull())
      .addColumn('state', 'text', (column) => column.notNull())
      .addColumn('attempts', 'integer', (column) => column.notNull())
      .addColumn('failure', 'text')
      .addColumn('measurement', 'text')
      .addColumn('received_at', 'text', (column) => column.notNull())
      .addPrimaryKeyConstraint('frames_key', ['shoot_id', 'name'])
      .execute();
    await db.schema.createIndex('frames_arrival').on('frames').columns(['shoot_id', 'received_at', 'name']).execute();
    await db.schema.createIndex('frames_shoot_state').on('frames').columns(['shoot_id', 'state']).execute();
  },
};

/** Applied in order of their names; one that has been released is never changed. */
const MIGRATIONS: Record<string, Migration> = { '0001-shoots-and-frames': first };

/** Brings the tables up to date; safe when two processes start together. Throws `bad-configuration`. */
export async function migrate(db: Kysely<Tables>): Promise<void> {
  const migrator = new Migrator({ db, provider: { getMigrations: () => Promise.resolve(MIGRATIONS) } });
  const { error } = await migrator.migrateToLatest();
  if (error !== undefined) {
    const reason = error instanceof Error ? error.message : 'no reason given';
    throw new StopledgerError('bad-configuration', `the shoot records could not be brought up to date: ${reason}`, {
      cause: error,
    });
  }
}
