import { join } from 'node:path';
import { Kysely, SqliteDialect } from 'kysely';
import Database from 'libsql';
import { StopledgerError } from '../errors.js';
import { makeFolder } from './durable-folder.js';
import { withKnownErrors } from './known-errors.js';
import { migrate } from './migrations.js';
import { createShootStore } from './shoot-store.js';
import { sqliteError, tellingWhy } from './sqlite-error.js';
import { WriteAheadLog } from './write-ahead-log.js';
import type { ShootStore } from './port.js';
import type { Tables } from './tables.js';

/**
 * Commits are synced by us (`WriteAheadLog`), since `synchronous = FULL` does it in the thread that answers requests, and
 * waits there for frame files that are synced at the time.
 */
const PRAGMAS = ['journal_mode = WAL', 'synchronous = NORMAL', 'foreign_keys = ON', 'busy_timeout = 5000'];

const DATABASE = 'shoots.sqlite';

/**
 * Takes the folder for this process until it ends, however it ends: the lock is the kernel's, held by an open
 * transaction, and goes with the process. Throws `bad-configuration` when another process has it.
 */
function lockFolder(folder: string): Database.Database {
  const lock = new Database(join(folder, 'lock.sqlite'));
  try {
    lock.exec('BEGIN EXCLUSIVE');
    return lock;
  } catch (error) {
    lock.close();
    throw new StopledgerError('bad-configuration', `DATA_DIR ${folder} is in use by another process`, { cause: error });
  }
}

/** Opens, or makes, the shoot records in `folder` on this machine. */
export async function openSqliteStore(folder: string): Promise<ShootStore> {
  await makeFolder(folder);
  const lock = lockFolder(folder);
  let database: Database.Database | null = null;
  try {
    database = new Database(join(folder, DATABASE));
    for (const pragma of PRAGMAS) database.prepare(`PRAGMA ${pragma}`).all([]);
    const db = new Kysely<Tables>({ dialect: new SqliteDialect({ database: tellingWhy(database) }) });
    await migrate(db, 'sqlite');
    const log = await WriteAheadLog.open(folder, DATABASE, database);
    const store = withKnownErrors(createShootStore(db, { sync: () => log.sync() }), sqliteError);
    return {
      ...store,
      async close() {
        await store.close();
        await log.close();
        lock.close();
      },
    };
  } catch (error) {
    database?.close();
    lock.close();
    throw error;
  }
}
