import type { Readable } from 'node:stream';
import {
  CopyObjectCommand,
  DeleteObjectCommand,
  DeleteObjectsCommand,
  GetObjectCommand,
  ListObjectsV2Command,
  PutObjectCommand,
  S3Client,
} from '@aws-sdk/client-s3';
import { StopledgerError } from '../../errors.js';
import { isNotTaken } from './bucket-error.js';

export interface BucketAddress {
  bucket: string;
  region: string;
  /** Empty: Amazon's own of the region. Any other server is asked with the bucket in the path. */
  endpoint: string;
  /** Both empty: found where the client of the protocol looks by itself (environment, role of the machine). */
  accessKeyId: string;
  secretAccessKey: string;
  /** Beginning of every key, empty or ending in `/`. */
  prefix: string;
}

const CONNECT_LIMIT_MS = 5000;
const SILENCE_LIMIT_MS = 60_000;
const MOST_ATTEMPTS = 4;
const DELETES_AT_ONCE = 16;

/** The few things that are asked of a bucket; keys are those behind the prefix. Errors are the client's own. */
export class Bucket {
  readonly client: S3Client;
  readonly name: string;
  readonly #prefix: string;

  constructor({ bucket, region, endpoint, accessKeyId, secretAccessKey, prefix }: BucketAddress) {
    this.name = bucket;
    this.#prefix = prefix;
    this.client = new S3Client({
      region,
      maxAttempts: MOST_ATTEMPTS,
      // Not every server of the protocol knows the newer checksums; bodies are signed with their SHA-256 anyway.
      requestChecksumCalculation: 'WHEN_REQUIRED',
      responseChecksumValidation: 'WHEN_REQUIRED',
      requestHandler: { connectionTimeout: CONNECT_LIMIT_MS, socketTimeout: SILENCE_LIMIT_MS },
      ...(endpoint === '' ? {} : { endpoint, forcePathStyle: true }),
      ...(accessKeyId === '' ? {} : { credentials: { accessKeyId, secretAccessKey } }),
    });
  }

  /** Where an object is, as commands want it. */
  at(key: string): { Bucket: string; Key: string } {
    return { Bucket: this.name, Key: this.#prefix + key };
  }

  async put(key: string, body: Uint8Array): Promise<void> {
    await this.client.send(new PutObjectCommand({ ...this.at(key), Body: body, ContentLength: body.byteLength }));
  }

  /** The object's bytes as they come, to be read or destroyed. */
  async open(key: string): Promise<{ bytes: number; stream: Readable }> {
    const { Body, ContentLength } = await this.client.send(new GetObjectCommand(this.at(key)));
    // In Node the body of an answer is always one of Node's streams.
    const stream = Body as Readable | undefined;
    if (stream === undefined || ContentLength === undefined) {
      throw new StopledgerError('internal', `the bucket ${this.name} answered without the bytes of ${key}`);
    }
    return { bytes: ContentLength, stream };
  }

  async read(key: string): Promise<Buffer> {
    const { stream } = await this.open(key);
    const chunks: Uint8Array[] = [];
    for await (const chunk of stream) chunks.push(chunk as Uint8Array);
    return Buffer.concat(chunks);
  }

  /** Inside the server; both keys in this bucket. */
  async copy(from: string, to: string): Promise<void> {
    const source = [this.name, ...this.at(from).Key.split('/')].map(encodeURIComponent).join('/');
    await this.client.send(new CopyObjectCommand({ ...this.at(to), CopySource: source }));
  }

  async delete(key: string): Promise<void> {
    await this.client.send(new DeleteObjectCommand(this.at(key)));
  }

  /** Deletes everything whose key begins so. */
  async deleteAll(beginning: string): Promise<void> {
    for await (const { objects } of this.list(beginning)) {
      const keys = objects.map(({ key }) => key);
      if (keys.length > 0) await this.#deleteMany(keys);
    }
  }

  /** In one request where the server takes that, else one by one. */
  async #deleteMany(keys: readonly string[]): Promise<void> {
    const Objects = keys.map((key) => ({ Key: this.at(key).Key }));
    try {
      const command = new DeleteObjectsCommand({ Bucket: this.name, Delete: { Objects, Quiet: true } });
      const { Errors: [first] = [] } = await this.client.send(command);
      if (first === undefined) return;
      throw new StopledgerError('storage-unavailable', `${first.Key} was not deleted: ${first.Code}`);
    } catch (error) {
      if (!isNotTaken(error)) throw error;
    }
    for (let from = 0; from < keys.length; from += DELETES_AT_ONCE) {
      await Promise.all(keys.slice(from, from + DELETES_AT_ONCE).map((key) => this.delete(key)));
    }
  }

  /** Pages of what begins so; with `folders`, what has a further `/` is told only by the part before it. */
  async *list(
    beginning: string,
    how: { folders?: boolean } = {},
  ): AsyncGenerator<{ objects: { key: string; changedAt: Date }[]; folders: string[] }> {
    let token: string | undefined;
    do {
      const page = await this.client.send(
        new ListObjectsV2Command({
          Bucket: this.name,
          Prefix: this.at(beginning).Key,
          ...(how.folders === true ? { Delimiter: '/' } : {}),
          ...(token === undefined ? {} : { ContinuationToken: token }),
        }),
      );
      const behindPrefix = (key: string | undefined): string => (key ?? '').slice(this.#prefix.length);
      yield {
        objects: (page.Contents ?? []).map(({ Key, LastModified }) => ({
          key: behindPrefix(Key),
          changedAt: LastModified ?? new Date(),
        })),
        folders: (page.CommonPrefixes ?? []).map(({ Prefix }) => behindPrefix(Prefix)),
      };
      token = page.NextContinuationToken;
    } while (token !== undefined);
  }
}
