import { createHash } from 'node:crypto';
import { type FileHandle, open } from 'node:fs/promises';
import type { Writable } from 'node:stream';
import { StopledgerError } from '../errors.js';

/** Of each of the two buffers that a file passes through: large, since every read and every write has its own cost. */
const BUFFER_BYTES = 512 * 1024;

/**
 * A frame's file on its way to a service. It is read twice, to be hashed and to be sent, and never held whole; the same
 * two buffers are filled again and again, since fresh memory costs more than reading into it.
 */
export class FrameFile {
  readonly #path: string;
  readonly #file: FileHandle;
  readonly #buffers = [0, 1].map(() => Buffer.allocUnsafeSlow(BUFFER_BYTES)) as [Buffer, Buffer];
  /** What was read when it was opened; so much is sent. */
  bytes = 0;
  /** Of those bytes, in base64. */
  sha256Base64 = '';
  /** Handed to the connection so far. */
  sentBytes = 0;

  private constructor(path: string, file: FileHandle) {
    this.#path = path;
    this.#file = file;
  }

  /** Opens it and hashes what is there now. To be closed. Throws `frame-file-missing`. */
  static async open(path: string): Promise<FrameFile> {
    const file = await open(path, 'r').catch((error: unknown) => {
      throw unreadable(path, error);
    });
    const frame = new FrameFile(path, file);
    try {
      await frame.#measure();
      return frame;
    } catch (error) {
      await file.close();
      throw error;
    }
  }

  /**
   * Writes the bytes to a request, no faster than it takes them, and does not end it; ends early when `enough` is
   * aborted. Throws `frame-file-missing` when the file has become shorter or cannot be read any more.
   */
  async writeTo(target: Writable, enough: AbortSignal): Promise<void> {
    const stopped = new Promise<void>((resolve) => {
      enough.addEventListener('abort', () => {
        resolve();
      });
    });
    const taken: [Promise<void>, Promise<void>] = [Promise.resolve(), Promise.resolve()];
    for (let from = 0, turn = 0; from < this.bytes && !enough.aborted; turn = 1 - turn) {
      const which = turn as 0 | 1;
      await Promise.race([taken[which], stopped]);
      if (enough.aborted) return;
      const count = await this.#read(this.#buffers[which], from, this.bytes - from);
      if (count === 0) {
        const message = `${this.#path}: ${this.bytes} bytes were there when sending began; now there are ${from}`;
        throw new StopledgerError('frame-file-missing', message);
      }
      from += count;
      const chunk = this.#buffers[which].subarray(0, count);
      taken[which] = new Promise((resolve) => {
        target.write(chunk, () => {
          this.sentBytes += count;
          resolve();
        });
      });
    }
    await Promise.race([Promise.all(taken), stopped]);
  }

  async close(): Promise<void> {
    await this.#file.close();
  }

  async #measure(): Promise<void> {
    const hash = createHash('sha256');
    const [buffer] = this.#buffers;
    for (;;) {
      const count = await this.#read(buffer, this.bytes, BUFFER_BYTES);
      if (count === 0) break;
      hash.update(buffer.subarray(0, count));
      this.bytes += count;
    }
    this.sha256Base64 = hash.digest('base64');
  }

  async #read(buffer: Buffer, from: number, most: number): Promise<number> {
    try {
      const { bytesRead } = await this.#file.read(buffer, 0, Math.min(BUFFER_BYTES, most), from);
      return bytesRead;
    } catch (error) {
      throw unreadable(this.#path, error);
    }
  }
}

function unreadable(path: string, error: unknown): StopledgerError {
  const reason = error instanceof Error ? error.message : String(error);
  return new StopledgerError('frame-file-missing', `${path} cannot be read: ${reason}`, { cause: error });
}
