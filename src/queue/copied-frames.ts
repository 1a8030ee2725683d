import { createHash, randomUUID } from 'node:crypto';
import { createWriteStream } from 'node:fs';
import { mkdir, readdir, rm } from 'node:fs/promises';
import { hostname } from 'node:os';
import { join } from 'node:path';
import { Transform, type Readable } from 'node:stream';
import { pipeline } from 'node:stream/promises';
import { StopledgerError } from '../errors.js';
import type { FrameSource } from './frame-source.js';
import { pause } from './pause.js';

/**
 * Opens a frame's bytes somewhere else. Throws `storage-unavailable` for what passes by itself (it is tried again),
 * anything else for what does not.
 */
export type OpenFrame = (shootId: string, sha256: string, signal: AbortSignal) => Promise<{ stream: Readable }>;

/** What is no fault of the frame and passes by itself: a store that is away, a worker's own disk that is full. */
const PASSES = new Set<string>(['storage-unavailable', 'storage-full']);

export interface CopiedFramesOptions {
  open: OpenFrame;
  /** Where copies lie until they are released; workers of several processes and machines may share it. */
  folder: string;
  /** How long one fetch may take, waiting for a store that is away included. */
  timeLimitSeconds: number;
  /** Waits before a store that is away is asked again: doubled from the first to the last. */
  tryAgainMs?: readonly [first: number, most: number];
}

const host = hostname().replaceAll(/[^A-Za-z0-9.]/g, '_');
const nameOfCopy = (): string => `${host}-${process.pid}-${randomUUID()}`;

function isRunning(pid: number): boolean {
  if (pid === process.pid) return false; // Of a process before this one that had the same id.
  try {
    process.kill(pid, 0);
    return true;
  } catch (error) {
    return error instanceof Error && 'code' in error && error.code === 'EPERM';
  }
}

/** Copies that processes of this machine left behind when they were killed. */
async function removeLeftBehind(folder: string): Promise<void> {
  for (const name of await readdir(folder)) {
    const [, from = '', pid = ''] = /^(.*)-(\d+)-[0-9a-f-]{36}$/.exec(name) ?? [];
    if (from === host && !isRunning(Number(pid))) await rm(join(folder, name), { force: true });
  }
}

/** Bytes to a new file, hashed on the way. Throws `digest-mismatch`, and `storage-unavailable` when they end early. */
async function copyChecked(stream: Readable, path: string, sha256: string, signal: AbortSignal): Promise<void> {
  const hash = createHash('sha256');
  let bytes = 0;
  let broken: unknown = null;
  stream.once('error', (error) => {
    broken = error;
  });
  const hashing = new Transform({
    transform(chunk: Uint8Array, _encoding, done) {
      hash.update(chunk);
      bytes += chunk.byteLength;
      done(null, chunk);
    },
  });
  try {
    await pipeline(stream, hashing, createWriteStream(path, { flags: 'wx', mode: 0o600 }), { signal });
  } catch (error) {
    signal.throwIfAborted();
    const reason = error instanceof Error ? error.message : String(error);
    if (broken !== null) throw new StopledgerError('storage-unavailable', `the bytes ended early: ${reason}`, { cause: error }); // prettier-ignore
    if (error instanceof Error && 'code' in error && error.code === 'ENOSPC') {
      throw new StopledgerError('storage-full', 'the disk of this worker is full', { cause: error });
    }
    throw error;
  }
  const received = hash.digest('hex');
  if (received === sha256) return;
  const message = `${bytes} bytes with SHA-256 ${received} came; ${sha256} was asked for`;
  throw new StopledgerError('digest-mismatch', message);
}

/** Frames copied to a folder of this machine for as long as they are measured, each checked by its SHA-256. */
export async function copiedFrames(options: CopiedFramesOptions): Promise<FrameSource> {
  const { open, folder, timeLimitSeconds, tryAgainMs = [250, 5000] } = options;
  await mkdir(folder, { recursive: true });
  await removeLeftBehind(folder);

  return {
    async fetch(shootId, sha256, given) {
      const limit = AbortSignal.timeout(timeLimitSeconds * 1000);
      const signal = given === undefined ? limit : AbortSignal.any([limit, given]);
      const path = join(folder, nameOfCopy());
      let last = 'it was too slow';
      for (let waitMs = tryAgainMs[0]; ; waitMs = Math.min(waitMs * 2, tryAgainMs[1])) {
        try {
          const { stream } = await open(shootId, sha256, signal);
          await copyChecked(stream, path, sha256, signal);
          return { path, release: () => rm(path, { force: true }).catch(() => undefined) };
        } catch (error) {
          await rm(path, { force: true });
          given?.throwIfAborted();
          if (!limit.aborted) {
            if (!(error instanceof StopledgerError) || !PASSES.has(error.code)) throw error;
            last = error.message;
            await pause(waitMs, signal);
            given?.throwIfAborted();
          }
          if (limit.aborted) {
            const message = `${sha256} of shoot ${shootId} did not come within ${timeLimitSeconds} s: ${last}`;
            throw new StopledgerError('frame-file-missing', message);
          }
        }
      }
    },
  };
}
