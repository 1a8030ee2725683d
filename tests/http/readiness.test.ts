import { rmSync } from 'node:fs';
import { statfs } from 'node:fs/promises';
import { join } from 'node:path';
import { describe, expect, it, onTestFinished } from 'vitest';
import { ReadyState } from '../../src/contracts/api.js';
import { POSTGRES_INSTALLED, POSTGRES_NOTE, startPostgres } from '../support/postgres-server.js';
import { REDIS_INSTALLED, REDIS_NOTE, newPrefix, startRedis } from '../support/redis-server.js';
import { startS3 } from '../support/s3-server.js';
import { serviceForTest, type ServiceUnderTest } from '../support/service.js';
import { until } from '../support/until.js';

async function readiness({ url }: ServiceUnderTest): Promise<{ status: number; state: ReadyState; text: string }> {
  const response = await fetch(`${url}/readyz`);
  const text = await response.text();
  return { status: response.status, state: ReadyState.parse(JSON.parse(text)), text };
}
const untilMissing = (service: ServiceUnderTest, missing: string[]): Promise<void> =>
  until(async () => (await readiness(service)).state.missing.join() === missing.join());

describe('/readyz of a process alone', () => {
  it('names the frame files when their folder is gone', async () => {
    const service = await serviceForTest();
    expect(await readiness(service)).toMatchObject({ status: 200, state: { ready: true, missing: [] } });
    rmSync(join(service.dataDir, 'incoming'), { recursive: true });
    await untilMissing(service, ['frame-files']);
    const { status, text } = await readiness(service);
    expect(status).toBe(503);
    expect(text).not.toContain(service.dataDir);
  });

  it('names the disk space when less is free than asked for', async () => {
    const { bavail, bsize } = await statfs('/tmp');
    const more = await serviceForTest({ MIN_FREE_BYTES: String(bavail * bsize * 2) });
    expect(await readiness(more)).toMatchObject({ status: 503, state: { ready: false, missing: ['disk-space'] } });
    const less = await serviceForTest({ MIN_FREE_BYTES: String(Math.floor((bavail * bsize) / 2)) });
    expect(await readiness(less)).toMatchObject({ status: 200 });
  });

  it('tells the log why a part is missing, once however often it is asked', async () => {
    const service = await serviceForTest();
    rmSync(join(service.dataDir, 'incoming'), { recursive: true });
    await untilMissing(service, ['frame-files']);
    // Answers are kept for a moment: the second look comes after it.
    const asked = performance.now();
    await until(async () => (await readiness(service)).status === 503 && performance.now() - asked > 600);
    expect(service.logged.filter((line) => line.includes('part is missing'))).toHaveLength(1);
    expect(service.logged.find((line) => line.includes('part is missing'))).toContain('ENOENT');
  });
});

describe.skipIf(!POSTGRES_INSTALLED || !REDIS_INSTALLED)(
  `/readyz past one machine${POSTGRES_NOTE}${REDIS_NOTE}`,
  () => {
    it('names Redis, the database and the frame files, each while it is really stopped, and no address or password', async () => {
      const [redis, postgres, s3] = [await startRedis(['--requirepass', 'dark-slide']), await startPostgres(), await startS3()]; // prettier-ignore
      onTestFinished(async () => {
        for (const server of [redis, postgres]) await server.remove();
      });
      const address = s3.newAddress();
      const environment = {
        REDIS_URL: redis.url.replace('//', '//:dark-slide@'),
        REDIS_PREFIX: newPrefix(),
        DATABASE_URL: await postgres.newDatabase(),
        FRAME_FILES: 'bucket',
        S3_BUCKET: address.bucket,
        S3_ENDPOINT: address.endpoint,
        S3_PREFIX: 'ready/',
        S3_ACCESS_KEY_ID: address.accessKeyId,
        S3_SECRET_ACCESS_KEY: address.secretAccessKey,
        WORKERS: '0',
      };
      const service = await serviceForTest(environment);
      // Nothing is kept on this disk, so its space is no part.
      expect((await readiness(service)).state).toEqual({
        ready: true,
        missing: [],
        parts: { database: 'ok', redis: 'ok', 'frame-files': 'ok', service: 'ok' },
      });
      await redis.stop();
      await untilMissing(service, ['redis']);
      await redis.restart();
      await untilMissing(service, []);
      await postgres.stop();
      await untilMissing(service, ['database']);
      await postgres.restart();
      await untilMissing(service, []);
      await s3.remove();
      await untilMissing(service, ['frame-files']);
      await Promise.all([redis.stop(), postgres.stop()]);
      await untilMissing(service, ['database', 'redis', 'frame-files']);
      const { status, text } = await readiness(service);
      expect(status).toBe(503);
      const told = text + service.logged.join('');
      for (const secret of ['dark-slide', 'light-meter', environment.REDIS_URL, environment.DATABASE_URL]) {
        expect(told).not.toContain(secret);
      }
      // Their being away does not hold up the end.
      await service.close();
      expect(text).not.toMatch(/127\.0\.0\.1|\/tmp/);
    });
  },
);
