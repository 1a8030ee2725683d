import { createHash } from 'node:crypto';
import { StopledgerError } from '../errors.js';

/** Bytes on their way into a store of frame files: counted and hashed while they pass. */
export class IncomingBytes {
  readonly #hash = createHash('sha256');
  readonly #maxBytes: number;
  bytes = 0;

  constructor(maxBytes: number) {
    this.#maxBytes = maxBytes;
  }

  /**
   * The source's chunks as they come. Throws `frame-too-large` over the most bytes allowed, `frame-empty`, and
   * `upload-aborted` when the source ends with an error: that is the sender's doing, all other errors are not.
   */
  async *from(source: AsyncIterable<Uint8Array>): AsyncGenerator<Uint8Array> {
    for await (const chunk of endingEarlyIsAborted(source)) {
      this.bytes += chunk.byteLength;
      if (this.bytes > this.#maxBytes) {
        throw new StopledgerError('frame-too-large', `the file has more than the ${this.#maxBytes} bytes allowed`);
      }
      this.#hash.update(chunk);
      yield chunk;
    }
    if (this.bytes === 0) throw new StopledgerError('frame-empty', 'the file has no bytes');
  }

  /** Of all bytes that came, in hexadecimal; to be asked for once, at the end. */
  sha256(): string {
    return this.#hash.digest('hex');
  }
}

async function* endingEarlyIsAborted(source: AsyncIterable<Uint8Array>): AsyncGenerator<Uint8Array> {
  try {
    yield* source;
  } catch (error) {
    if (error instanceof StopledgerError) throw error;
    const reason = error instanceof Error ? error.message : String(error);
    throw new StopledgerError('upload-aborted', `the upload ended before its last byte: ${reason}`, { cause: error });
  }
}
