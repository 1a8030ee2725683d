import { existsSync, mkdirSync, mkdtempSync, readdirSync, statSync, writeFileSync } from 'node:fs';
import { rm } from 'node:fs/promises';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { setImmediate as turn } from 'node:timers/promises';
import S3rver from 's3rver';
import { afterAll, beforeAll } from 'vitest';
import type { BucketAddress } from '../../src/store/s3/bucket.js';

const BUCKET = 'frames';

export interface S3Server {
  /** A bucket address whose keys no other test has. */
  newAddress(): BucketAddress;
  /** Objects that begin with the address's prefix, and parts of uploads that nobody finished or gave up. */
  countFiles(address: BucketAddress): number;
  /** Requests so far, as `PUT /frames/key`. */
  requests: string[];
  /** While set, every request whose line it matches is answered with `refuseWith`, 503 unless changed. */
  refuse: RegExp | null;
  refuseWith: number;
  remove(): Promise<void>;
}

/** It encrypts where a listing goes on with DES, which OpenSSL 3 has no more: that goes in the clear here. */
function listWithoutDes(): void {
  const crypto = createRequire(import.meta.url)('node:crypto') as Record<string, (...args: unknown[]) => unknown>;
  const clear = { update: (bytes: string | Buffer) => Buffer.from(bytes as string), final: () => Buffer.alloc(0) };
  for (const name of ['createCipheriv', 'createDecipheriv']) {
    const original = crypto[name];
    crypto[name] = (...args) => (args[0] === 'des' ? clear : original?.(...args));
  }
}
listWithoutDes();

/** The file at `path` has `size` bytes: the server answers before the last of them are written. */
async function written(path: string, size: number): Promise<void> {
  while (!existsSync(path) || statSync(path).size !== size) await turn();
}

/** A server of the S3 protocol on a free port of this machine, over a folder of its own. */
export async function startS3(): Promise<S3Server> {
  const directory = mkdtempSync(join(tmpdir(), 'stopledger-s3-'));
  const server = new S3rver({
    port: 0,
    address: '127.0.0.1',
    silent: true,
    directory,
    configureBuckets: [{ name: BUCKET, configs: [] }],
  });
  const { store } = server;
  const uploads = store.getResourcePath(BUCKET, undefined, 'uploads');
  const putObject = store.putObject.bind(store);
  store.putObject = async (object) => {
    // It removes a folder with its last object, also while another is about to be written there: none is ever empty.
    const folder = dirname(store.getResourcePath(object.bucket, object.key, 'object'));
    mkdirSync(folder, { recursive: true });
    writeFileSync(join(folder, '.kept'), '');
    const put = await putObject(object);
    await written(store.getResourcePath(object.bucket, object.key, 'object'), put.size);
    return put;
  };
  const putPart = store.putPart.bind(store);
  store.putPart = async (bucket, uploadId, part, content) => {
    const put = await putPart(bucket, uploadId, part, content);
    await written(join(uploads, uploadId, String(part)), put.size);
    return put;
  };
  const state = { requests: [] as string[], refuse: null as RegExp | null, refuseWith: 503 };
  server.middleware.unshift(async (context, next) => {
    const line = `${context.method} ${context.req.url ?? ''}`;
    state.requests.push(line);
    const { uploadId } = context.query;
    if (state.refuse?.test(line) === true) {
      context.req.resume();
      context.status = state.refuseWith;
    } else if (context.method === 'DELETE' && uploadId !== undefined) {
      // Giving up an upload is not in this server's repertoire.
      await rm(join(uploads, uploadId), { recursive: true });
      context.status = 204;
    } else await next();
  });
  const { port } = await server.run();
  let prefixes = 0;
  return Object.assign(state, {
    newAddress: () => ({
      bucket: BUCKET,
      region: 'us-east-1',
      endpoint: `http://127.0.0.1:${port}`,
      accessKeyId: 'S3RVER',
      secretAccessKey: 'S3RVER',
      prefix: `studio ${(prefixes += 1)}/`,
    }),
    countFiles({ prefix }: BucketAddress) {
      const folder = join(directory, BUCKET, prefix);
      const files = existsSync(folder) ? readdirSync(folder, { recursive: true, encoding: 'utf8' }) : [];
      const parts = existsSync(uploads) ? readdirSync(uploads).length : 0;
      return files.filter((name) => name.endsWith('._S3rver_object')).length + parts;
    },
    async remove() {
      server.httpServer.closeAllConnections();
      await server.close();
      await rm(directory, { recursive: true, force: true, maxRetries: 3 });
    },
  });
}

/** One such server for all tests of a file: returns how to get at it. */
export function s3ForFile(): () => S3Server {
  let server: S3Server | null = null;
  beforeAll(async () => {
    server = await startS3();
  });
  afterAll(async () => {
    await server?.remove();
  });
  return () => {
    if (server === null) throw new Error('the S3 server is started before the first test');
    return server;
  };
}
