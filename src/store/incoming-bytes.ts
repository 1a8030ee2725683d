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
    // By hand, since every further generator on the way costs each chunk several turns.
    const chunks = source[Symbol.asyncIterator]();
    let ended = false;
    try {
      for (;;) {
        const next = await chunks.next().catch((error: unknown) => {
          ended = true;
          throw endedEarly(error);
        });
        if (next.done === true) {
          ended = true;
          break;
        }
        const chunk = next.value;
        this.bytes += chunk.byteLength;
        if (this.bytes > this.#maxBytes) {
          throw new StopledgerError('frame-too-large', `the file has more than the ${this.#maxBytes} bytes allowed`);
        }
        this.#hash.update(chunk);
        yield chunk;
      }
    } finally {
      if (!ended) await chunks.return?.();
    }
    if (this.bytes === 0) throw new StopledgerError('frame-empty', 'the file has no bytes');
  }

  /** Of all bytes that came, in hexadecimal; to be asked for once, at the end. */
  sha256(): string {
    return this.#hash.digest('hex');
  }
}

function endedEarly(error: unknown): StopledgerError {
  if (error instanceof StopledgerError) return error;
  const reason = error instanceof Error ? error.message : String(error);
  return new StopledgerError('upload-aborted', `the upload ended before its last byte: ${reason}`, { cause: error });
}
