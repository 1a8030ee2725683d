import { randomUUID } from 'node:crypto';
import { existsSync } from 'node:fs';
import { mkdir, open, readFile, readdir, rename, rm, stat } from 'node:fs/promises';
import { join } from 'node:path';
import type { FrameProducts } from '../contracts/jobs.js';
import { StopledgerError, asStopledgerError } from '../errors.js';
import { makeFolder, syncFolder } from './durable-folder.js';
import { PRODUCT_ENDINGS, checkedId } from './file-address.js';
import { GatheredWrites } from './gathered-writes.js';
import { IncomingBytes } from './incoming-bytes.js';
import type { FrameFiles, ReceivedFile } from './port.js';

const SHOOTS = 'shoots';

/** Shoots remembered; one that is forgotten costs one more sync of a folder. */
const MOST_KNOWN = 10_000;

const NO_ROOM = new Set(['ENOSPC', 'EDQUOT', 'EFBIG']);

const codeOf = (error: unknown): string => (error instanceof Error && 'code' in error ? String(error.code) : '');

function storageError(error: unknown): StopledgerError {
  if (NO_ROOM.has(codeOf(error))) {
    return new StopledgerError('storage-full', 'the disk that holds the frames is full', { cause: error });
  }
  return asStopledgerError(error);
}

function missing(shootId: string, sha256: string, error: unknown): StopledgerError {
  const message = `the stored file ${sha256} of shoot ${shootId} could not be read: ${codeOf(error)}`;
  return new StopledgerError('frame-file-missing', message, { cause: error });
}

/** Writes a small file so that it is there whole or not at all. */
async function writeWhole(folder: string, name: string, bytes: Uint8Array, temporary: string): Promise<void> {
  try {
    const file = await open(temporary, 'wx');
    try {
      await file.writeFile(bytes);
      await file.sync();
    } finally {
      await file.close();
    }
    await rename(temporary, join(folder, name));
    await syncFolder(folder);
  } catch (error) {
    await rm(temporary, { force: true });
    throw storageError(error);
  }
}

/** True where `openFolderFiles` was before. */
export const isFolderOfFrames = (root: string): boolean => existsSync(join(root, SHOOTS));

/**
 * Frame files in a folder of this machine (or a mount that renames atomically):
 * `incoming/<temporary id>`, `shoots/<shoot id>/<SHA-256 of the bytes>` and beside it its pictures.
 */
export async function openFolderFiles(root: string): Promise<FrameFiles> {
  const incomingFolder = join(root, 'incoming');
  const shoots = join(root, SHOOTS);
  await makeFolder(incomingFolder);
  await makeFolder(shoots);

  const temporaryPath = (tempId: string): string => join(incomingFolder, checkedId('temporary id', tempId));
  const shootFolder = (shootId: string): string => join(shoots, checkedId('shoot id', shootId));
  const framePath = (shootId: string, sha256: string): string =>
    join(shootFolder(shootId), checkedId('SHA-256', sha256));

  /** Shoots whose folder is known to be on disk itself: whoever made it may have ended before that was so. */
  const durable = new Set<string>();
  const makeShootFolder = async (shootId: string): Promise<string> => {
    const folder = shootFolder(shootId);
    await mkdir(folder, { recursive: true });
    if (durable.has(shootId)) return folder;
    for (const parent of [shoots, root]) await syncFolder(parent);
    if (durable.size >= MOST_KNOWN) durable.clear();
    durable.add(shootId);
    return folder;
  };

  return {
    async receive(source, maxBytes): Promise<ReceivedFile> {
      const tempId = randomUUID();
      const path = temporaryPath(tempId);
      const file = await open(path, 'wx').catch((error: unknown) => {
        throw storageError(error);
      });
      const incoming = new IncomingBytes(maxBytes);
      const writes = new GatheredWrites(file);
      try {
        for await (const chunk of incoming.from(source)) {
          const room = writes.add(chunk);
          if (room !== null) await room;
        }
        await writes.end();
        await file.sync();
        await file.close();
        return { tempId, sha256: incoming.sha256(), bytes: incoming.bytes };
      } catch (error) {
        await writes.idle();
        await file.close().catch(() => undefined);
        await rm(path, { force: true });
        throw storageError(error);
      }
    },

    async keep(received, shootId) {
      try {
        const folder = await makeShootFolder(shootId);
        await rename(temporaryPath(received.tempId), framePath(shootId, received.sha256));
        await syncFolder(folder);
      } catch (error) {
        throw storageError(error);
      }
    },

    async discard(received) {
      await rm(temporaryPath(received.tempId), { force: true });
    },

    async read(shootId, sha256) {
      try {
        return await readFile(framePath(shootId, sha256));
      } catch (error) {
        throw missing(shootId, sha256, error);
      }
    },

    async openRead(shootId, sha256) {
      const path = framePath(shootId, sha256);
      try {
        const file = await open(path, 'r');
        try {
          const { size } = await file.stat();
          return { bytes: size, stream: file.createReadStream() };
        } catch (error) {
          await file.close();
          throw error;
        }
      } catch (error) {
        throw missing(shootId, sha256, error);
      }
    },

    localPath: framePath,

    async putProducts(shootId, sha256, products) {
      for (const product of Object.keys(PRODUCT_ENDINGS) as (keyof FrameProducts)[]) {
        const name = checkedId('SHA-256', sha256) + PRODUCT_ENDINGS[product];
        await writeWhole(shootFolder(shootId), name, products[product], temporaryPath(`product-${randomUUID()}`));
      }
    },

    async getProduct(shootId, sha256, product) {
      try {
        return await readFile(framePath(shootId, sha256) + PRODUCT_ENDINGS[product]);
      } catch (error) {
        if (codeOf(error) === 'ENOENT') return null;
        throw error;
      }
    },

    async deleteShoot(shootId) {
      durable.delete(shootId);
      await rm(shootFolder(shootId), { recursive: true, force: true });
      await syncFolder(shoots);
    },

    async sweep(known, idleMs) {
      for (const name of await readdir(incomingFolder)) {
        const path = join(incomingFolder, name);
        // Kept or discarded by another process meanwhile.
        const changedAt = (await stat(path).catch(() => null))?.mtimeMs ?? Infinity;
        if (idleMs === 0 || changedAt < Date.now() - idleMs) await rm(path, { recursive: true, force: true });
      }
      for (const name of await readdir(shoots)) {
        if (!(await known(name))) await rm(join(shoots, name), { recursive: true, force: true });
      }
    },

    async check() {
      const path = temporaryPath(randomUUID());
      const file = await open(path, 'wx');
      await file.close();
      await rm(path);
    },
  };
}
