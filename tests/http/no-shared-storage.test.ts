import { readdirSync } from 'node:fs';
import { join } from 'node:path';
import { setImmediate as turn } from 'node:timers/promises';
import { describe, expect, it, onTestFinished } from 'vitest';
import { ShootReport } from '../../src/contracts/report.js';
import { WORKER_ENTRY, startLogged } from '../support/processes.js';
import { REDIS_INSTALLED, REDIS_NOTE, newPrefix, redisForFile } from '../support/redis-server.js';
import { s3ForFile } from '../support/s3-server.js';
import { newShoot, put, serviceForTest } from '../support/service.js';
import { temporaryFolder } from '../support/temporary-folder.js';

const secret = 'a secret of more than thirty-two characters';

describe.skipIf(!REDIS_INSTALLED)(`worker processes that share no folder with the service${REDIS_NOTE}`, () => {
  const redis = redisForFile();
  const s3 = s3ForFile();

  /** Sends frames to a service that does not measure, and lets a worker process with a folder of its own do it. */
  async function measured(
    forService: Record<string, string>,
    forWorker: (serviceUrl: string) => Record<string, string>,
  ): Promise<{ shoot: string; workerFolder: string; serviceFolder: string }> {
    const shared = { REDIS_URL: redis().url, REDIS_PREFIX: newPrefix() };
    const service = await serviceForTest({ ...shared, ...forService, WORKERS: '0' });
    const workerFolder = temporaryFolder();
    await startLogged(WORKER_ENTRY, 'taking frames', {
      ...shared,
      ...forWorker(service.url),
      DATA_DIR: workerFolder,
      WORKERS: '1',
      SHUTDOWN_SECONDS: '0',
    });
    const shoot = await newShoot(service.url);
    for (const name of ['1.jpg', '2.jpg']) expect((await put(shoot, name, `measure ${name}`)).status).toBe(201);
    await put(shoot, 'broken.jpg', 'refuse frame-corrupt');
    await fetch(`${shoot}/complete`, { method: 'POST' });
    const report = ShootReport.parse(await (await fetch(`${shoot}/report?wait=60`)).json());
    expect(report.frames.map(({ name }) => name).sort()).toEqual(['1.jpg', '2.jpg', 'broken.jpg']);
    expect(report.summary.unreadable).toBe(1);
    expect((await fetch(`${shoot}/frames/1.jpg/preview`)).status).toBe(200);
    return { shoot, workerFolder, serviceFolder: service.dataDir };
  }

  it('get frames from the service by plain HTTP, and keep none', async () => {
    const { workerFolder } = await measured({ FRAME_API_SECRET: secret }, (url) => ({
      FRAME_FILES: 'api',
      FRAME_API_URL: url,
      FRAME_API_SECRET: secret,
    }));
    expect(readdirSync(join(workerFolder, 'fetched'))).toEqual([]);
  });

  it('get them from a bucket, which a deleted shoot leaves empty', async () => {
    const address = s3().newAddress();
    const bucket = {
      FRAME_FILES: 'bucket',
      S3_BUCKET: address.bucket,
      S3_ENDPOINT: address.endpoint,
      S3_PREFIX: 'studio/',
      S3_ACCESS_KEY_ID: address.accessKeyId,
      S3_SECRET_ACCESS_KEY: address.secretAccessKey,
    };
    const { shoot, workerFolder, serviceFolder } = await measured(bucket, () => bucket);
    // Three frames, and two pictures of each of the two that could be measured.
    expect(s3().countFiles({ ...address, prefix: 'studio/' })).toBe(7);
    expect((await fetch(shoot, { method: 'DELETE' })).status).toBe(204);
    expect(s3().countFiles({ ...address, prefix: 'studio/' })).toBe(0);
    expect(readdirSync(join(workerFolder, 'fetched'))).toEqual([]);
    expect(readdirSync(serviceFolder)).not.toContain('shoots');
  });

  it('wait for a bucket that is away: uploads are refused meanwhile, what was measured is stored when it is back', async () => {
    const address = s3().newAddress();
    const service = await serviceForTest({
      REDIS_URL: redis().url,
      REDIS_PREFIX: newPrefix(),
      FRAME_FILES: 'bucket',
      S3_BUCKET: address.bucket,
      S3_ENDPOINT: address.endpoint,
      S3_PREFIX: 'away/',
      S3_ACCESS_KEY_ID: address.accessKeyId,
      S3_SECRET_ACCESS_KEY: address.secretAccessKey,
    });
    onTestFinished(() => {
      s3().refuse = null;
    });
    const shoot = await newShoot(service.url);
    s3().refuse = /preview\.jpg/;
    expect((await put(shoot, '1.jpg', 'measure 1')).status).toBe(201);
    while (!s3().requests.some((line) => line.includes('preview.jpg'))) await turn();
    s3().refuse = /./;
    const refused = await put(shoot, '2.jpg', 'measure 2');
    expect(refused.status).toBe(503);
    expect(await refused.json()).toMatchObject({ code: 'storage-unavailable', retryable: true });
    expect(await (await fetch(`${service.url}/readyz`)).json()).toMatchObject({
      missing: ['frame-files'],
      parts: { database: 'ok' },
    });
    s3().refuse = null;
    expect((await put(shoot, '2.jpg', 'measure 2')).status).toBe(201);
    await fetch(`${shoot}/complete`, { method: 'POST' });
    const report = ShootReport.parse(await (await fetch(`${shoot}/report?wait=60`)).json());
    expect(report.frames.map(({ name }) => name)).toEqual(['1.jpg', '2.jpg']);
    expect(report.summary.unreadable).toBe(0);
    for (const name of ['1.jpg', '2.jpg']) expect((await fetch(`${shoot}/frames/${name}/preview`)).status).toBe(200);
  });
});
