import type * as FileSystem from 'node:fs/promises';
import { join } from 'node:path';
import { afterEach, describe, expect, it, vi } from 'vitest';
import { openFolderFiles } from '../../src/store/folder-files.js';
import { openSqliteStore } from '../../src/store/open-sqlite.js';
import { temporaryFolder } from '../support/temporary-folder.js';

const synced = vi.hoisted(() => [] as string[]);
vi.mock('node:fs/promises', async (original) => {
  const real = await original<typeof FileSystem>();
  const open: typeof real.open = async (path, flags, mode) => {
    const handle = await real.open(path, flags, mode);
    const sync = handle.sync.bind(handle);
    handle.sync = () => {
      synced.push(String(path));
      return sync();
    };
    return handle;
  };
  return { ...real, open };
});

describe('a data folder that was not there, nor the folders above it', () => {
  afterEach(() => {
    synced.length = 0;
  });

  it('is durable with all of them before anything is kept in it', async () => {
    const above = temporaryFolder();
    const root = join(above, 'volume', 'studio');
    await openFolderFiles(root);
    expect(new Set(synced)).toEqual(new Set([above, join(above, 'volume'), root]));
  });

  it('also where the records make it first', async () => {
    const above = temporaryFolder();
    const root = join(above, 'volume', 'studio');
    const store = await openSqliteStore(root);
    await store.close();
    // The folder itself for the name of the records' log.
    expect(new Set(synced)).toEqual(new Set([above, join(above, 'volume'), root]));
  });

  it('costs nothing where it is there already', async () => {
    const root = temporaryFolder();
    await openFolderFiles(root);
    synced.length = 0;
    await openFolderFiles(root);
    expect(synced).toEqual([]);
  });
});
