import { randomUUID } from 'node:crypto';
import { AbortMultipartUploadCommand, ListMultipartUploadsCommand } from '@aws-sdk/client-s3';
import type { FrameProducts } from '../../contracts/jobs.js';
import { StopledgerError } from '../../errors.js';
import { PRODUCT_ENDINGS, checkedId } from '../file-address.js';
import { IncomingBytes } from '../incoming-bytes.js';
import type { FrameFiles } from '../port.js';
import { Bucket, type BucketAddress } from './bucket.js';
import { bucketError, isMissing, isNotImplemented } from './bucket-error.js';
import { StreamedUpload } from './streamed-upload.js';

const INCOMING = 'incoming/';
const SHOOTS = 'shoots/';

/** Does it, and throws errors of ours only. */
async function known<T>(work: () => Promise<T>): Promise<T> {
  try {
    return await work();
  } catch (error) {
    throw bucketError(error);
  }
}

/**
 * Frame files in an S3-compatible bucket: `incoming/<temporary id>`, `shoots/<shoot id>/<SHA-256 of the bytes>` and
 * beside it its pictures. An object is there whole or not at all; a server of this protocol answers when what it was
 * given is durable, so there is nothing to sync. The bytes get their final key by a copy inside the server, since
 * their SHA-256 is only known at the end.
 */
export function openBucketFiles(address: BucketAddress): FrameFiles {
  const bucket = new Bucket(address);
  const incomingKey = (tempId: string): string => INCOMING + checkedId('temporary id', tempId);
  const shootKeys = (shootId: string): string => `${SHOOTS}${checkedId('shoot id', shootId)}/`;
  const frameKey = (shootId: string, sha256: string): string => shootKeys(shootId) + checkedId('SHA-256', sha256);

  async function found<T>(shootId: string, sha256: string, get: (key: string) => Promise<T>): Promise<T> {
    const key = frameKey(shootId, sha256);
    try {
      return await get(key);
    } catch (error) {
      if (!isMissing(error)) throw bucketError(error);
      const message = `the stored file ${sha256} of shoot ${shootId} is not in the bucket`;
      throw new StopledgerError('frame-file-missing', message, { cause: error });
    }
  }

  /** Parts of uploads that a killed process began; servers that cannot list them forget them by a rule of their own. */
  async function sweepParts(before: number): Promise<void> {
    try {
      const { Key: Prefix } = bucket.at(INCOMING);
      let KeyMarker: string | undefined;
      let UploadIdMarker: string | undefined;
      do {
        const page = await bucket.client.send(
          new ListMultipartUploadsCommand({ Bucket: bucket.name, Prefix, KeyMarker, UploadIdMarker }),
        );
        for (const { Key, UploadId, Initiated } of page.Uploads ?? []) {
          if ((Initiated?.getTime() ?? Infinity) >= before) continue;
          await bucket.client.send(new AbortMultipartUploadCommand({ Bucket: bucket.name, Key, UploadId }));
        }
        ({ NextKeyMarker: KeyMarker, NextUploadIdMarker: UploadIdMarker } = page);
      } while (KeyMarker !== undefined);
    } catch (error) {
      if (!isNotImplemented(error) && !isMissing(error)) throw error;
    }
  }

  return {
    async receive(source, maxBytes) {
      const tempId = randomUUID();
      const incoming = new IncomingBytes(maxBytes);
      const upload = new StreamedUpload(bucket, incomingKey(tempId));
      try {
        for await (const chunk of incoming.from(source)) await upload.write(chunk);
        await upload.finish();
        return { tempId, sha256: incoming.sha256(), bytes: incoming.bytes };
      } catch (error) {
        await upload.abort();
        throw bucketError(error);
      }
    },

    async keep({ tempId, sha256 }, shootId) {
      const from = incomingKey(tempId);
      const to = frameKey(shootId, sha256);
      await known(() => bucket.copy(from, to));
      // It is kept: a temporary object that stays behind is swept later.
      await bucket.delete(from).catch(() => undefined);
    },

    async discard({ tempId }) {
      await known(() => bucket.delete(incomingKey(tempId)));
    },

    read: async (shootId, sha256) => found(shootId, sha256, (key) => bucket.read(key)),
    openRead: async (shootId, sha256) => found(shootId, sha256, (key) => bucket.open(key)),
    localPath: () => null,

    async putProducts(shootId, sha256, products) {
      for (const product of Object.keys(PRODUCT_ENDINGS) as (keyof FrameProducts)[]) {
        await known(() => bucket.put(frameKey(shootId, sha256) + PRODUCT_ENDINGS[product], products[product]));
      }
    },

    async getProduct(shootId, sha256, product) {
      try {
        return await bucket.read(frameKey(shootId, sha256) + PRODUCT_ENDINGS[product]);
      } catch (error) {
        if (isMissing(error)) return null;
        throw bucketError(error);
      }
    },

    async deleteShoot(shootId) {
      await known(() => bucket.deleteAll(shootKeys(shootId)));
    },

    async sweep(isKnown, idleMs) {
      const before = idleMs === 0 ? Infinity : Date.now() - idleMs;
      await known(async () => {
        for await (const { objects } of bucket.list(INCOMING)) {
          for (const { key, changedAt } of objects) if (changedAt.getTime() < before) await bucket.delete(key);
        }
        await sweepParts(before);
        for await (const { folders } of bucket.list(SHOOTS, { folders: true })) {
          for (const folder of folders) {
            const shootId = folder.slice(SHOOTS.length, -1);
            if (!(await isKnown(shootId))) await bucket.deleteAll(folder);
          }
        }
      });
    },

    async check() {
      const key = incomingKey(`check-${randomUUID()}`);
      await known(async () => {
        await bucket.put(key, Buffer.from('check'));
        await bucket.delete(key);
      });
    },
  };
}
