import type { FileHandle } from 'node:fs/promises';

/** Bytes gathered before they are written: fewer, larger writes. */
const WRITE_BYTES = 1024 * 1024;
/** Chunks gathered, however small: each costs some hundred bytes beside its own. */
const WRITE_CHUNKS = 256;

/** Writes a file chunk by chunk in order, without copying them: a batch is gathered while the one before is written. */
export class GatheredWrites {
  readonly #file: FileHandle;
  #gathered: Uint8Array[] = [];
  #gatheredBytes = 0;
  #writing: Promise<void> = Promise.resolve();

  constructor(file: FileHandle) {
    this.#file = file;
  }

  /** Null while there is room for more; else what to wait for before the next. Rejected as writing was. */
  add(chunk: Uint8Array): Promise<void> | null {
    this.#gathered.push(chunk);
    this.#gatheredBytes += chunk.byteLength;
    const isFull = this.#gatheredBytes >= WRITE_BYTES || this.#gathered.length >= WRITE_CHUNKS;
    return isFull ? this.#flush() : null;
  }

  /** Resolves when all that was added is written. */
  async end(): Promise<void> {
    await this.#flush();
    await this.#writing;
  }

  /** Resolves when nothing is being written any more, whatever came of it. */
  async idle(): Promise<void> {
    await this.#writing.catch(() => undefined);
  }

  async #flush(): Promise<void> {
    await this.#writing;
    const batch = this.#gathered;
    this.#gathered = [];
    this.#gatheredBytes = 0;
    this.#writing = writeAll(this.#file, batch);
    // Looked at before the next batch and at the end; until then a failure is nobody's surprise.
    this.#writing.catch(() => undefined);
  }
}

async function writeAll(file: FileHandle, chunks: readonly Uint8Array[]): Promise<void> {
  let left = chunks;
  while (left.length > 0) {
    const { bytesWritten } = await file.writev(left);
    left = behind(left, bytesWritten);
  }
}

/** What of the chunks lies behind so many bytes: a disk may take fewer than it is given. */
function behind(chunks: readonly Uint8Array[], bytes: number): readonly Uint8Array[] {
  let skip = bytes;
  for (const [index, chunk] of chunks.entries()) {
    if (skip < chunk.byteLength) return [chunk.subarray(skip), ...chunks.slice(index + 1)];
    skip -= chunk.byteLength;
  }
  return [];
}
