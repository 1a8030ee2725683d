import { createHash } from 'node:crypto';
import { existsSync, mkdirSync, readlinkSync } from 'node:fs';
import { type FileHandle, open, readdir } from 'node:fs/promises';
import { join } from 'node:path';
import { Readable } from 'node:stream';
import { describe, expect, it, onTestFinished, vi } from 'vitest';
import { openFolderFiles } from '../../src/store/folder-files.js';
import { openBucketFiles } from '../../src/store/s3/bucket-files.js';
import { PART_BYTES } from '../../src/store/s3/streamed-upload.js';
import { freePort } from '../support/redis-server.js';
import { s3ForFile } from '../support/s3-server.js';
import { temporaryFolder } from '../support/temporary-folder.js';
import { frameFilesContract } from './frame-files.contract.js';

frameFilesContract('folder', async () => {
  const folder = temporaryFolder();
  return {
    files: await openFolderFiles(folder),
    reopen: () => openFolderFiles(folder),
    async countFiles() {
      const entries = await readdir(folder, { recursive: true, withFileTypes: true });
      return entries.filter((entry) => entry.isFile()).length;
    },
  };
});

describe('frame files in a folder', () => {
  it('tell a path on this machine that lies inside the folder', async () => {
    const folder = temporaryFolder();
    const files = await openFolderFiles(folder);
    expect(files.localPath('shoot', 'e'.repeat(64))?.startsWith(`${folder}/shoots/shoot/`)).toBe(true);
  });
});

describe.skipIf(!existsSync('/proc/self/fd'))('frame files in a folder, on disk', () => {
  it('are so with the folder of their shoot, also where another process made it and ended before that was on disk', async () => {
    const folder = temporaryFolder();
    const files = await openFolderFiles(folder);
    const synced: string[] = [];
    const handle = await open(folder, 'r');
    const prototype = Object.getPrototypeOf(handle) as FileHandle;
    await handle.close();
    const sync = vi.spyOn(prototype, 'sync').mockImplementation(function (this: FileHandle) {
      synced.push(readlinkSync(`/proc/self/fd/${this.fd}`));
      return this.datasync();
    });
    onTestFinished(() => sync.mockRestore());
    mkdirSync(join(folder, 'shoots', 'c0ffee'));
    const keep = async (text: string) => files.keep(await files.receive(Readable.from([Buffer.from(text)]), 100), 'c0ffee'); // prettier-ignore
    await keep('one');
    expect(synced).toContain(join(folder, 'shoots'));
    expect(synced).toContain(join(folder, 'shoots', 'c0ffee'));
    synced.length = 0;
    await keep('two');
    expect(synced).not.toContain(join(folder, 'shoots'));
  });

  it('leave nothing open where a file that is there cannot be looked at', async () => {
    const files = await openFolderFiles(temporaryFolder());
    const received = await files.receive(Readable.from([Buffer.from('one')]), 100);
    await files.keep(received, 'c0ffee');
    const opened: number[] = [];
    const handle = await open('.', 'r');
    const prototype = Object.getPrototypeOf(handle) as FileHandle;
    await handle.close();
    const look = vi.spyOn(prototype, 'stat').mockImplementationOnce(function (this: FileHandle) {
      opened.push(this.fd);
      return Promise.reject(new Error('EIO'));
    });
    onTestFinished(() => look.mockRestore());
    const path = files.localPath('c0ffee', received.sha256);
    await expect(files.openRead('c0ffee', received.sha256)).rejects.toMatchObject({ code: 'frame-file-missing' });
    expect(opened).toHaveLength(1);
    const still = opened.map((fd) =>
      existsSync(`/proc/self/fd/${fd}`) ? readlinkSync(`/proc/self/fd/${fd}`) : 'closed',
    );
    expect(still).not.toContain(path);
  });
});

describe('over the S3 protocol', () => {
  const server = s3ForFile();
  frameFilesContract('bucket', async () => {
    const address = server().newAddress();
    return {
      files: openBucketFiles(address),
      reopen: async () => openBucketFiles(address),
      countFiles: async () => server().countFiles(address),
    };
  });

  describe('frame files in a bucket', () => {
    const open = () => {
      const address = server().newAddress();
      return { address, files: openBucketFiles(address) };
    };
    const large = Buffer.alloc(2 * PART_BYTES + 123, 'stopledger');
    async function* pieces(bytes: Uint8Array, last?: Error): AsyncGenerator<Uint8Array> {
      for (let from = 0; from < bytes.byteLength; from += 1_000_003) {
        await Promise.resolve();
        yield bytes.subarray(from, from + 1_000_003);
      }
      if (last !== undefined) throw last;
    }

    it('come in parts when they are large, and in one request when they fit in one part', async () => {
      const { files } = open();
      for (const [bytes, parts] of [
        [large, 3],
        [large.subarray(0, PART_BYTES + 1), 2],
        [large.subarray(0, PART_BYTES), 0],
      ] as const) {
        // prettier-ignore
        const before = server().requests.length;
        const received = await files.receive(pieces(bytes), 2 ** 30);
        const lines = server().requests.slice(before);
        expect(lines.filter((line) => /^PUT .*partNumber=/.test(line))).toHaveLength(parts);
        await files.keep(received, 'shoot');
        expect((await files.read('shoot', received.sha256)).equals(bytes)).toBe(true);
      }
    });

    it('leave no part behind when the upload ends early or a part is not taken', async () => {
      const { address, files } = open();
      await expect(files.receive(pieces(large, new Error('cut')), 2 ** 30)).rejects.toMatchObject({ code: 'upload-aborted' }); // prettier-ignore
      expect(server().countFiles(address)).toBe(0);
      server().refuse = /partNumber=2/;
      onTestFinished(() => {
        server().refuse = null;
      });
      await expect(files.receive(pieces(large), 2 ** 30)).rejects.toMatchObject({ code: 'storage-unavailable' });
      expect(server().countFiles(address)).toBe(0);
    });

    it('are deleted by the page, however many a shoot has', async () => {
      const { address, files } = open();
      const kept = Array.from({ length: 510 }, (_, index) => createHash('sha256').update(`${index}`).digest('hex'));
      const picture = Buffer.from('picture');
      await Promise.all(kept.map((sha256) => files.putProducts('shoot', sha256, { previewJpeg: picture, regionsPng: picture }))); // prettier-ignore
      await files.putProducts('shoot-2', kept[0] ?? '', { previewJpeg: picture, regionsPng: picture });
      expect(server().countFiles(address)).toBe(1022);
      await files.deleteShoot('shoot');
      expect(server().countFiles(address)).toBe(2);
      await files.sweep(async () => false, 0);
      expect(server().countFiles(address)).toBe(0);
    });

    it('are deleted one by one where the server does not take more', async () => {
      const { address, files } = open();
      const kept = Array.from({ length: 20 }, (_, index) => createHash('sha256').update(`${index}`).digest('hex'));
      const picture = Buffer.from('picture');
      await Promise.all(kept.map((sha256) => files.putProducts('shoot', sha256, { previewJpeg: picture, regionsPng: picture }))); // prettier-ignore
      Object.assign(server(), { refuse: /^POST .*delete/, refuseWith: 501 });
      onTestFinished(() => {
        Object.assign(server(), { refuse: null, refuseWith: 503 });
      });
      await files.deleteShoot('shoot');
      expect(server().countFiles(address)).toBe(0);
    });

    it('tell what the server refuses, and that a server away may be asked again', async () => {
      const { address } = open();
      const away = openBucketFiles({ ...address, endpoint: `http://127.0.0.1:${await freePort()}` });
      await expect(away.check()).rejects.toMatchObject({ code: 'storage-unavailable', retryable: true });
      await expect(openBucketFiles({ ...address, bucket: 'no-such-bucket' }).check()).rejects.toMatchObject({ code: 'internal' }); // prettier-ignore
      const stranger = openBucketFiles({ ...address, accessKeyId: 'STRANGER' });
      await expect(stranger.check()).rejects.toMatchObject({
        code: 'internal',
        message: expect.stringMatching(/access key/i) as string,
      });
    });
  });
});
