import {
  AbortMultipartUploadCommand,
  CompleteMultipartUploadCommand,
  CreateMultipartUploadCommand,
  UploadPartCommand,
} from '@aws-sdk/client-s3';
import type { Bucket } from './bucket.js';

/** Every part but the last has at least 5 MiB and all are of one size (Amazon S3 user guide, multipart limits). */
export const PART_BYTES = 8 * 1024 * 1024;

/**
 * One object written as its bytes come, without knowing how many: in one request when they fit in one part, else part
 * by part with one part on its way while the next is gathered, so at most two parts are held in memory.
 */
export class StreamedUpload {
  readonly #bucket: Bucket;
  readonly #key: string;
  #gathered: Uint8Array[] = [];
  #gatheredBytes = 0;
  #uploadId: string | null = null;
  #parts: { PartNumber: number; ETag: string | undefined }[] = [];
  #underWay: Promise<void> = Promise.resolve();

  constructor(bucket: Bucket, key: string) {
    this.#bucket = bucket;
    this.#key = key;
  }

  async write(chunk: Uint8Array): Promise<void> {
    for (let from = 0; from < chunk.byteLength;) {
      // A full part waits for more bytes: only then is it known not to be the last.
      if (this.#gatheredBytes === PART_BYTES) await this.#sendPart();
      const piece = chunk.subarray(from, from + PART_BYTES - this.#gatheredBytes);
      this.#gathered.push(piece);
      this.#gatheredBytes += piece.byteLength;
      from += piece.byteLength;
    }
  }

  /** The object is there when it returns, and was not before. */
  async finish(): Promise<void> {
    if (this.#uploadId === null) {
      await this.#bucket.put(this.#key, this.#take());
      return;
    }
    await this.#sendPart();
    await this.#underWay;
    await this.#bucket.client.send(
      new CompleteMultipartUploadCommand({
        ...this.#bucket.at(this.#key),
        UploadId: this.#uploadId,
        MultipartUpload: { Parts: this.#parts },
      }),
    );
    this.#uploadId = null;
  }

  /** Leaves nothing behind; what cannot be removed now is swept later. */
  async abort(): Promise<void> {
    await this.#underWay.catch(() => undefined);
    if (this.#uploadId === null) return;
    const upload = { ...this.#bucket.at(this.#key), UploadId: this.#uploadId };
    await this.#bucket.client.send(new AbortMultipartUploadCommand(upload)).catch(() => undefined);
  }

  #take(): Uint8Array {
    const bytes = Buffer.concat(this.#gathered);
    this.#gathered = [];
    this.#gatheredBytes = 0;
    return bytes;
  }

  async #sendPart(): Promise<void> {
    if (this.#uploadId === null) {
      const made = await this.#bucket.client.send(new CreateMultipartUploadCommand(this.#bucket.at(this.#key)));
      if (made.UploadId === undefined) throw new Error('the server began an upload without saying its id');
      this.#uploadId = made.UploadId;
    }
    await this.#underWay;
    const part = { PartNumber: this.#parts.length + 1, ETag: undefined as string | undefined };
    this.#parts.push(part);
    const upload = { ...this.#bucket.at(this.#key), UploadId: this.#uploadId, PartNumber: part.PartNumber };
    this.#underWay = this.#bucket.client
      .send(new UploadPartCommand({ ...upload, Body: this.#take() }))
      .then(({ ETag }) => {
        part.ETag = ETag;
      });
    // Looked at before the next part and at the end; until then a failure is nobody's surprise.
    this.#underWay.catch(() => undefined);
  }
}
