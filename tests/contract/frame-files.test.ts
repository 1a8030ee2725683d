import { readdir } from 'node:fs/promises';
import { describe, expect, it } from 'vitest';
import { openFolderFiles } from '../../src/store/folder-files.js';
import { temporaryFolder } from '../support/temporary-folder.js';
import { frameFilesContract } from './frame-files.contract.js';

frameFilesContract('folder', async () => {
  const folder = temporaryFolder();
  return {
    files: await openFolderFiles(folder),
    reopen: () => openFolderFiles(folder),
    async countFiles() {
      const entries = await readdir(folder, { recursive: true, withFileTypes: true });
      return entries.filter((entry) => entry.isFile()).length;
    },
  };
});

describe('frame files in a folder', () => {
  it('tell a path on this machine that lies inside the folder', async () => {
    const folder = temporaryFolder();
    const files = await openFolderFiles(folder);
    expect(files.localPath('shoot', 'e'.repeat(64))?.startsWith(`${folder}/shoots/shoot/`)).toBe(true);
  });
});
