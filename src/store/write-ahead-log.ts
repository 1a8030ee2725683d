import { type FileHandle, open } from 'node:fs/promises';
import { join } from 'node:path';
import type Database from 'libsql';
import { StopledgerError } from '../errors.js';

/**
 * The write-ahead log of an SQLite database, synced by whoever commits: a commit under `synchronous = NORMAL` is in the
 * log when it returns, and on disk when the log is synced (sqlite.org/pragma.html#pragma_synchronous and
 * sqlite.org/wal.html, from memory). No lock lies on the log itself, so that its descriptor may be opened and closed.
 */
export class WriteAheadLog {
  readonly #database: Database.Database;
  readonly #file: FileHandle;
  #isDoubtful = false;

  private constructor(database: Database.Database, file: FileHandle) {
    this.#database = database;
    this.#file = file;
  }

  /** Of a database that was read or written before, so that the log is there. */
  static async open(folder: string, name: string, database: Database.Database): Promise<WriteAheadLog> {
    const file = await open(join(folder, `${name}-wal`), 'r');
    const entries = await open(folder, 'r');
    try {
      await entries.sync();
    } finally {
      await entries.close();
    }
    return new WriteAheadLog(database, file);
  }

  /** Resolves when all that was committed before is on disk. Throws what the disk said, or `storage-unavailable`. */
  async sync(): Promise<void> {
    if (!this.#isDoubtful) {
      try {
        await this.#file.datasync();
        return;
      } catch (error) {
        this.#isDoubtful = true;
        this.#moveOver(error);
        return;
      }
    }
    this.#moveOver();
  }

  async close(): Promise<void> {
    await this.#file.close();
  }

  /**
   * A kernel tells once that it could not write, and takes what it could not for written after it. So all that the log
   * holds is written into the database itself, which is synced by the way, and the log begins anew.
   */
  #moveOver(cause?: unknown): void {
    const [outcome] = this.#database.prepare('PRAGMA wal_checkpoint(TRUNCATE)').all([]) as { busy: number }[];
    if (outcome?.busy !== 0) {
      throw new StopledgerError('storage-unavailable', 'the log of the shoot records could not be synced', { cause });
    }
    this.#isDoubtful = false;
  }
}
