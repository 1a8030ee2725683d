import { mkdir, open } from 'node:fs/promises';
import { dirname, resolve } from 'node:path';

/** Makes a folder's entries durable: a file that was renamed is there after a power cut only when this was done. */
export async function syncFolder(path: string): Promise<void> {
  const folder = await open(path, 'r');
  try {
    await folder.sync();
  } finally {
    await folder.close();
  }
}

/** Makes a folder, and durable every entry on the way to it that was not there. */
export async function makeFolder(path: string): Promise<void> {
  let folder = resolve(path);
  const firstMade = await mkdir(folder, { recursive: true });
  if (firstMade === undefined) return;
  for (; ; folder = dirname(folder)) {
    await syncFolder(dirname(folder));
    if (folder === firstMade || folder === dirname(folder)) return;
  }
}
