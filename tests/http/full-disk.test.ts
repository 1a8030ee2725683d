import { appendFileSync, rmSync } from 'node:fs';
import { join } from 'node:path';
import { setImmediate } from 'node:timers/promises';
import { Kysely, SqliteDialect, sql } from 'kysely';
import Database from 'libsql';
import { describe, expect, it, onTestFinished } from 'vitest';
import { Problem } from '../../src/contracts/api.js';
import { ShootReport } from '../../src/contracts/report.js';
import { sqliteError, tellingWhy } from '../../src/store/sqlite-error.js';
import { newShoot, put, serviceForTest } from '../support/service.js';
import { CAN_MOUNT, openSmallDisk } from '../support/small-disk.js';

describe('a full database of records', () => {
  it('says that a database is full, which ended the transaction by itself', async () => {
    const database = new Database(':memory:');
    const db = new Kysely<{ rows: { text: string } }>({
      dialect: new SqliteDialect({ database: tellingWhy(database) }),
    });
    await sql`create table rows (text text)`.execute(db);
    await sql`pragma max_page_count = 4`.execute(db);
    const add = (text: string): Promise<unknown> =>
      db.transaction().execute((trx) => trx.insertInto('rows').values({ text }).execute());
    const refused = await add('x'.repeat(100_000)).catch(sqliteError);
    expect(refused).toMatchObject({ code: 'storage-full', status: 507, retryable: true });
    await add('small');
    expect(await db.selectFrom('rows').selectAll().execute()).toMatchObject([{ text: 'small' }]);
    await db.destroy();
  });

  it('leaves what it does not know as it is', () => {
    const error = new Error('no such table');
    expect(sqliteError(error)).toBe(error);
  });
});

// Neither skipped nor passed where it cannot be tried: no package would make it possible there.
if (!CAN_MOUNT) console.warn('A full disk is not tried: this user may not mount a small one.');
else
  describe('the service alone on a disk that is full', () => {
    async function onSmallDisk() {
      const disk = openSmallDisk('1m');
      onTestFinished(() => disk.remove());
      // Ends before its disk goes.
      const service = await serviceForTest({ DATA_DIR: disk.folder });
      const ballast = join(disk.folder, 'ballast');
      return {
        service,
        folder: disk.folder,
        fill: (): void => {
          for (const bytes of [4096, 1]) {
            try {
              for (;;) appendFileSync(ballast, Buffer.alloc(bytes));
            } catch {
              continue;
            }
          }
        },
        free: (): void => {
          rmSync(ballast);
        },
      };
    }
    const problemOf = async (response: Response): Promise<Problem> => Problem.parse(await response.json());

    it('says so for a new shoot and for a frame, and takes both when there is room again', async () => {
      const { service, fill, free } = await onSmallDisk();
      const shoot = await newShoot(service.url);
      fill();
      const create = (): Promise<Response> => fetch(`${service.url}/v1/shoots`, { method: 'POST', headers: { 'content-type': 'application/json' }, body: JSON.stringify({ name: 'x'.repeat(200) }) }); // prettier-ignore
      // What SQLite has room for already may still be written.
      let refused = await create();
      while (refused.status === 201) refused = await create();
      expect(refused.status).toBe(507);
      expect(refused.headers.get('retry-after')).toBe('30');
      expect(await problemOf(refused)).toMatchObject({ code: 'storage-full', retryable: true });
      const frame = await put(shoot, '1.jpg', `measure ${'x'.repeat(9000)}`);
      expect(frame.status).toBe(507);
      expect(await problemOf(frame)).toMatchObject({ code: 'storage-full', retryable: true });
      free();
      expect((await create()).status).toBe(201);
      expect((await put(shoot, '1.jpg', `measure ${'x'.repeat(9000)}`)).status).toBe(201);
    });

    it('keeps a measurement that it cannot store and stores it when there is room again', async () => {
      const { service, folder, fill, free } = await onSmallDisk();
      const shoot = await newShoot(service.url);
      const gate = join(folder, 'gate');
      expect((await put(shoot, '1.jpg', `wait-for ${gate}`)).status).toBe(201);
      appendFileSync(gate, '');
      fill();
      while (!service.logged.some((line) => line.includes('not done yet'))) await setImmediate();
      free();
      await fetch(`${shoot}/complete`, { method: 'POST' });
      const report = ShootReport.parse(await (await fetch(`${shoot}/report?wait=60`)).json());
      expect(report.summary).toMatchObject({ frames: 1, unreadable: 0 });
    });
  });
