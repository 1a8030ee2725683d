import { existsSync, statSync } from 'node:fs';
import type * as files from 'node:fs/promises';
import { join } from 'node:path';
import { setImmediate } from 'node:timers/promises';
import { expect, it, onTestFinished, vi } from 'vitest';
import { openSqliteStore } from '../../src/store/open-sqlite.js';
import { temporaryFolder } from '../support/temporary-folder.js';
import { until } from '../support/until.js';

/** What becomes of the log's syncs: each waits for its turn. */
const disk = vi.hoisted(() => ({ isHeld: false, waiting: [] as ((error: Error | null) => void)[] }));
vi.mock('node:fs/promises', async (original) => {
  const real = await original<typeof files>();
  return {
    ...real,
    open: async (...asked: Parameters<typeof real.open>) => {
      const file = await real.open(...asked);
      if (!String(asked[0]).endsWith('-wal')) return file;
      const datasync = file.datasync.bind(file);
      file.datasync = async () => {
        if (disk.isHeld) {
          const error = await new Promise<Error | null>((resolve) => disk.waiting.push(resolve));
          if (error !== null) throw error;
        }
        await datasync();
      };
      return file;
    },
  };
});

const shoot = (id: string) => ({ id, name: 'Hall', studio: null, plan: {} }) as never;
const frame = (name: string) => ({ shootId: 's', name, sha256: name, bytes: 1, maxFrames: 10 });

async function heldStore() {
  disk.isHeld = false;
  disk.waiting.length = 0;
  const folder = temporaryFolder();
  const store = await openSqliteStore(folder);
  await store.createShoot(shoot('s'));
  onTestFinished(async () => {
    disk.isHeld = false;
    await store.close();
  });
  disk.isHeld = true;
  return { store, log: join(folder, 'shoots.sqlite-wal') };
}

it('a row is told of when the log that holds it is synced, and all of one commit together', async () => {
  const { store } = await heldStore();
  const told: string[] = [];
  const adding = ['a', 'b'].map(async (name) => {
    const { created } = await store.addFrame(frame(name));
    told.push(`${name} ${created}`);
  });
  await until(() => disk.waiting.length === 1);
  // Everything else goes on meanwhile, and sees it.
  expect((await store.progress('s')).total).toBe(2);
  for (let turn = 0; turn < 20; turn += 1) await setImmediate();
  expect(told).toEqual([]);
  disk.waiting[0]?.(null);
  await Promise.all(adding);
  expect(told).toEqual(['a true', 'b true']);
});

it('a log that could not be synced is moved over into the database, then told of as usual', async () => {
  const { store, log } = await heldStore();
  expect(statSync(log).size).toBeGreaterThan(0);
  const adding = store.addFrame(frame('a'));
  await until(() => disk.waiting.length === 1);
  disk.waiting[0]?.(Object.assign(new Error('EIO: i/o error, fdatasync'), { code: 'EIO' }));
  expect(await adding).toMatchObject({ created: true });
  expect(statSync(log).size).toBe(0);
  disk.isHeld = false;
  expect(await store.addFrame(frame('b'))).toMatchObject({ created: true });
  expect(existsSync(log)).toBe(true);
  expect((await store.progress('s')).total).toBe(2);
});
