import { rename, rm, writeFile } from 'node:fs/promises';

/** Writes a file so that a reader sees the old content or the new, never a part: a temporary file beside it, renamed. */
export async function writeWhole(path: string, content: string | Uint8Array, mode?: number): Promise<void> {
  const unfinished = `${path}.${process.pid}.tmp`;
  try {
    await writeFile(unfinished, content, mode === undefined ? {} : { mode });
    await rename(unfinished, path);
  } catch (error) {
    await rm(unfinished, { force: true });
    throw error;
  }
}
