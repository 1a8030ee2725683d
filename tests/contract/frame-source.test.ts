import { spawnSync } from 'node:child_process';
import { createHash, randomUUID } from 'node:crypto';
import { mkdirSync, readFileSync, readdirSync, writeFileSync } from 'node:fs';
import { createServer, type RequestListener } from 'node:http';
import { once } from 'node:events';
import type { AddressInfo } from 'node:net';
import { hostname } from 'node:os';
import { join } from 'node:path';
import { Readable } from 'node:stream';
import { describe, expect, it, onTestFinished } from 'vitest';
import { readConfig } from '../../src/config.js';
import { apiFrames, checkFrameApi } from '../../src/queue/api-frames.js';
import { type OpenFrame, copiedFrames } from '../../src/queue/copied-frames.js';
import { localFrameSource } from '../../src/queue/frame-source.js';
import { openFrameSource } from '../../src/queue/open-frame-source.js';
import { openFolderFiles } from '../../src/store/folder-files.js';
import type { FrameFiles } from '../../src/store/port.js';
import { Bucket } from '../../src/store/s3/bucket.js';
import { openBucketFiles } from '../../src/store/s3/bucket-files.js';
import { freePort } from '../support/redis-server.js';
import { s3ForFile } from '../support/s3-server.js';
import { newShoot, put, serviceForTest } from '../support/service.js';
import { temporaryFolder } from '../support/temporary-folder.js';
import { frameSourceContract } from './frame-source.contract.js';

const secret = 'a secret of more than thirty-two characters';
const copied = (open: OpenFrame, more: { folder?: string; timeLimitSeconds?: number } = {}) =>
  copiedFrames({ open, folder: temporaryFolder(), timeLimitSeconds: 60, tryAgainMs: [1, 5], ...more });

async function keepIn(files: FrameFiles, bytes: Uint8Array): Promise<{ shootId: string; sha256: string }> {
  const received = await files.receive(Readable.from([bytes]), 2 ** 30);
  await files.keep(received, 'shoot');
  return { shootId: 'shoot', sha256: received.sha256 };
}

frameSourceContract('folder', async () => {
  const files = await openFolderFiles(temporaryFolder());
  return {
    source: localFrameSource((shootId, sha256) => files.localPath(shootId, sha256)),
    keep: (bytes) => keepIn(files, bytes),
    spoil: async ({ shootId, sha256 }, bytes) => {
      writeFileSync(files.localPath(shootId, sha256) ?? '', bytes);
    },
    copies: false,
  };
});

describe('over the S3 protocol', () => {
  const server = s3ForFile();
  frameSourceContract('bucket', async () => {
    const address = server().newAddress();
    const files = openBucketFiles(address);
    return {
      source: await copied((shootId, sha256) => files.openRead(shootId, sha256)),
      keep: (bytes) => keepIn(files, bytes),
      spoil: ({ shootId, sha256 }, bytes) => new Bucket(address).put(`shoots/${shootId}/${sha256}`, bytes),
      copies: true,
    };
  });

  it('is not opened with a bucket or key that cannot be right', async () => {
    const { bucket, endpoint, accessKeyId, secretAccessKey } = server().newAddress();
    const open = (more: Record<string, string>) =>
      openFrameSource(
        readConfig({
          REDIS_URL: 'redis://127.0.0.1',
          DATA_DIR: temporaryFolder(),
          FRAME_FILES: 'bucket',
          S3_BUCKET: bucket,
          S3_ENDPOINT: endpoint,
          S3_ACCESS_KEY_ID: accessKeyId,
          S3_SECRET_ACCESS_KEY: secretAccessKey,
          ...more,
        }),
      );
    await expect(open({})).resolves.toHaveProperty('fetch');
    await expect(open({ S3_ENDPOINT: `http://127.0.0.1:${await freePort()}` })).resolves.toHaveProperty('fetch');
    await expect(open({ S3_BUCKET: 'another' })).rejects.toMatchObject({ code: 'bad-configuration' });
    await expect(open({ S3_ACCESS_KEY_ID: 'STRANGER' })).rejects.toMatchObject({ code: 'bad-configuration' });
  });

  it('waits for a bucket that is away', async () => {
    const files = openBucketFiles(server().newAddress());
    const { shootId, sha256 } = await keepIn(files, Buffer.from('frame'));
    let refusals = 0;
    const source = await copied(async (...frame) => {
      server().refuse = refusals < 2 ? /^GET/ : null;
      refusals += 1;
      return files.openRead(frame[0], frame[1]);
    });
    await (await source.fetch(shootId, sha256)).release();
    expect(refusals).toBe(3);
  });
});

frameSourceContract('service', async () => {
  const service = await serviceForTest({ FRAME_API_SECRET: secret, API_TOKENS: 'a-token-that-workers-need-not' });
  const files = await openFolderFiles(service.dataDir);
  return {
    source: await copied(apiFrames({ url: `${service.url}/`, secret })),
    keep: (bytes) => keepIn(files, bytes),
    spoil: async ({ shootId, sha256 }, bytes) => {
      writeFileSync(files.localPath(shootId, sha256) ?? '', bytes);
    },
    copies: true,
  };
});

/** A server that answers as told, for what the real one does not do. */
async function answering(handler: RequestListener): Promise<string> {
  const server = createServer(handler);
  server.listen(0, '127.0.0.1');
  await once(server, 'listening');
  onTestFinished(() => {
    server.closeAllConnections();
    server.close();
  });
  return `http://127.0.0.1:${(server.address() as AddressInfo).port}`;
}

describe('frames from the service', () => {
  it('are waited for while it is away, restarts or breaks off', async () => {
    const answers: RequestListener[] = [
      (_request, response) => response.destroy(),
      (_request, response) => response.writeHead(503).end(),
      (_request, response) => response.writeHead(200, { 'content-length': '5' }).write('fra', () => response.destroy()),
      (_request, response) => response.end('frame'),
    ];
    let asked = 0;
    const url = await answering((request, response) => {
      answers[asked]?.(request, response);
      asked += 1;
    });
    const folder = temporaryFolder();
    const source = await copied(apiFrames({ url, secret }), { folder });
    const frame = await source.fetch('shoot', createHash('sha256').update('frame').digest('hex'));
    expect(asked).toBe(4);
    expect(readFileSync(frame.path, 'utf8')).toBe('frame');
    await frame.release();
    expect(readdirSync(folder)).toEqual([]);
  });

  it('are given up when the time is over, with the last reason, or at once when told to', async () => {
    const url = `http://127.0.0.1:${await freePort()}`;
    const source = await copied(apiFrames({ url, secret }), { timeLimitSeconds: 0.5 });
    await expect(source.fetch('shoot', 'e'.repeat(64))).rejects.toMatchObject({
      code: 'frame-file-missing',
      message: expect.stringMatching(/did not come within 0.5 s: .*ECONNREFUSED/) as string,
    });
    const silent = await answering(() => undefined);
    const stop = new AbortController();
    const waiting = (await copied(apiFrames({ url: silent, secret }))).fetch('shoot', 'e'.repeat(64), stop.signal);
    stop.abort(new Error('out of time'));
    await expect(waiting).rejects.toThrow('out of time');
  });

  it('are not given to a worker of another secret, which says so when it starts', async () => {
    const { url } = await serviceForTest({ FRAME_API_SECRET: secret });
    await expect(checkFrameApi({ url, secret })).resolves.toBeUndefined();
    await expect(checkFrameApi({ url, secret: `${secret}.` })).rejects.toMatchObject({ code: 'bad-configuration' });
    const { url: closed } = await serviceForTest();
    await expect(checkFrameApi({ url: closed, secret })).rejects.toMatchObject({ code: 'bad-configuration' });
    await expect(checkFrameApi({ url: `http://127.0.0.1:${await freePort()}`, secret })).resolves.toBeUndefined();
  });

  it('are those that clients sent', async () => {
    const service = await serviceForTest({ FRAME_API_SECRET: secret });
    const shoot = await newShoot(service.url);
    const { sha256 } = (await (await put(shoot, 'x.jpg', 'measure')).json()) as { sha256: string };
    const source = await copied(apiFrames({ url: service.url, secret }));
    const frame = await source.fetch(shoot.split('/').at(-1) ?? '', sha256);
    await frame.release();
  });
});

it('copies that a killed worker of this machine left are removed, those of running ones and of others are not', async () => {
  const folder = join(temporaryFolder(), 'fetched');
  mkdirSync(folder);
  const dead = spawnSync(process.execPath, ['-e', '']).pid;
  const host = hostname().replaceAll(/[^A-Za-z0-9.]/g, '_');
  const copyOf = (machine: string, pid: number): string => {
    const name = `${machine}-${pid}-${randomUUID()}`;
    writeFileSync(join(folder, name), 'frame');
    return name;
  };
  copyOf(host, dead);
  copyOf(host, process.pid);
  const kept = [copyOf(host, process.ppid), copyOf('another', dead)];
  writeFileSync(join(folder, 'notes.txt'), '');
  await copied(() => Promise.reject(new Error('not asked')), { folder });
  expect(readdirSync(folder).sort()).toEqual([...kept, 'notes.txt'].sort());
});
