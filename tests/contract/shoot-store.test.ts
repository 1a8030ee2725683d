import { describe, expect, it } from 'vitest';
import { openSqliteStore } from '../../src/store/open-sqlite.js';
import { temporaryFolder } from '../support/temporary-folder.js';
import { shootStoreContract } from './shoot-store.contract.js';

shootStoreContract('SQLite', async () => {
  const folder = temporaryFolder();
  return { open: () => openSqliteStore(folder) };
});

describe('SQLite records', () => {
  it('belong to one process at a time, and are free again when it closed them', async () => {
    const folder = temporaryFolder();
    const store = await openSqliteStore(folder);
    await expect(openSqliteStore(folder)).rejects.toMatchObject({ code: 'bad-configuration' });
    await store.close();
    await (await openSqliteStore(folder)).close();
  });

  it('are not opened over something else', async () => {
    const folder = temporaryFolder();
    const { writeFile } = await import('node:fs/promises');
    await writeFile(`${folder}/shoots.sqlite`, 'this is no database, but long enough to be taken for a header of one');
    await expect(openSqliteStore(folder)).rejects.toThrow();
  });
});
