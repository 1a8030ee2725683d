import { randomBytes } from 'node:crypto';
import { constants } from 'node:fs';
import { copyFile, link, lstat, open, readFile, rename, rm } from 'node:fs/promises';
import { basename, dirname, join } from 'node:path';
import { StopledgerError } from '../errors.js';
import type { SidecarContent } from './sidecar-content.js';
import { mergedSidecar, newSidecar } from './sidecar-packet.js';

export type SidecarOutcome = 'created' | 'merged' | 'unchanged';

/** Other programs may change the file while it is being written; so often is their change taken in. */
const ATTEMPTS = 5;
/** What file systems without hard links answer. */
const NO_LINKS = new Set(['EPERM', 'ENOSYS', 'ENOTSUP', 'EOPNOTSUPP', 'EXDEV', 'EMLINK']);

const codeOf = (error: unknown): string =>
  error instanceof Error && 'code' in error && typeof error.code === 'string' ? error.code : '';

/**
 * Writes the sidecar at `path`, or puts our part into the one that is there. Whole or not at all: readers never see
 * half a file (but on a file system without hard links, while a new one is copied to its place). One that another
 * program makes meanwhile is never overwritten but merged with; a change to one that is there is seen until the
 * instant of the rename, for which file systems have no compare-and-swap.
 *
 * @throws StopledgerError `sidecar-refused` when what is there is no plain file or cannot be merged with, and the file
 *   system's own error otherwise; what was there is then as it was
 */
export async function writeSidecar(path: string, content: SidecarContent): Promise<SidecarOutcome> {
  for (let attempt = 1; attempt <= ATTEMPTS; attempt += 1) {
    const there = await existing(path);
    const text = there === null ? newSidecar(content) : mergedSidecar(there.bytes, content);
    if (there !== null && there.bytes.equals(Buffer.from(text))) return 'unchanged';
    const temporary = join(dirname(path), `.${basename(path)}.${randomBytes(6).toString('hex')}.part`);
    try {
      await writeDurably(temporary, text, there?.mode ?? 0o666);
      if (there === null) {
        if (await placedAsNew(temporary, path)) return 'created';
      } else if ((await existing(path))?.bytes.equals(there.bytes) === true) {
        await rename(temporary, path);
        return 'merged';
      }
    } finally {
      await rm(temporary, { force: true });
    }
  }
  throw new StopledgerError('sidecar-refused', `${path} was changed ${ATTEMPTS} times while it was to be written`);
}

async function existing(path: string): Promise<{ bytes: Buffer; mode: number } | null> {
  try {
    const info = await lstat(path);
    if (!info.isFile()) {
      throw new StopledgerError('sidecar-refused', `${path} is left as it is: it is a link or no plain file`);
    }
    return { bytes: await readFile(path), mode: info.mode & 0o777 };
  } catch (error) {
    if (codeOf(error) === 'ENOENT') return null;
    throw error;
  }
}

async function writeDurably(path: string, text: string, mode: number): Promise<void> {
  const file = await open(path, 'wx', mode);
  try {
    await file.writeFile(text);
    await file.sync();
  } finally {
    await file.close();
  }
}

/** False when another file took the place first. */
async function placedAsNew(temporary: string, path: string): Promise<boolean> {
  try {
    try {
      await link(temporary, path);
    } catch (error) {
      if (!NO_LINKS.has(codeOf(error))) throw error;
      await copyFile(temporary, path, constants.COPYFILE_EXCL);
    }
    return true;
  } catch (error) {
    if (codeOf(error) === 'EEXIST') return false;
    throw error;
  }
}
