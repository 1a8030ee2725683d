import type { SqliteDatabase } from 'kysely';
import type Database from 'libsql';
import { StopledgerError } from '../errors.js';

/** Result codes of SQLite (sqlite.org/rescode.html), as the driver names them, extended ones by their beginning. */
const FULL = /^SQLITE_FULL/;
const AWAY = /^SQLITE_(BUSY|LOCKED|IOERR|CANTOPEN)/;

const codeOf = (error: unknown): string => (error instanceof Error && 'code' in error ? String(error.code) : '');

/** What was thrown by the driver, in our own words where its cause is known. */
export function sqliteError(error: unknown): unknown {
  if (error instanceof StopledgerError) return error;
  const code = codeOf(error);
  if (FULL.test(code)) {
    return new StopledgerError('storage-full', 'the disk of the shoot records is full', { cause: error });
  }
  if (AWAY.test(code)) {
    return new StopledgerError('storage-unavailable', 'the shoot records cannot be written or read', { cause: error });
  }
  return error;
}

/** A full disk or a failed write rolls a transaction back by itself (sqlite.org/lang_transaction.html, 3). */
const isRolledBackAlready = (error: unknown): boolean =>
  error instanceof Error && error.message.includes('no transaction is active');

/** The same database, which does not hide why a transaction ended behind that there is none to roll back any more. */
export function tellingWhy(database: Database.Database): SqliteDatabase {
  return {
    close: () => {
      database.close();
    },
    prepare(sql) {
      const statement = database.prepare(sql);
      if (sql !== 'rollback') return statement;
      return {
        reader: false,
        all: () => [],
        iterate: () => [][Symbol.iterator](),
        run() {
          try {
            const { changes } = statement.run();
            return { changes, lastInsertRowid: 0 };
          } catch (error) {
            if (isRolledBackAlready(error)) return { changes: 0, lastInsertRowid: 0 };
            throw error;
          }
        },
      };
    },
  };
}
