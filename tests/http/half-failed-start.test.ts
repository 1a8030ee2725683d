import { rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { Redis } from 'ioredis';
import { describe, expect, it, onTestFinished } from 'vitest';
import { readConfig } from '../../src/config.js';
import { createLog } from '../../src/log.js';
import { startService, type ServiceOptions } from '../../src/main.js';
import { REDIS_INSTALLED, REDIS_NOTE, newPrefix, redisForFile } from '../support/redis-server.js';
import { FIXTURE_PROCESS, newShoot, put, serviceForTest } from '../support/service.js';
import { temporaryFolder } from '../support/temporary-folder.js';
import { until } from '../support/until.js';

const failingStart = (environment: Record<string, string>, options: ServiceOptions = {}): Promise<unknown> => {
  const config = readConfig({ PORT: '0', WORKERS: '1', ...environment });
  const log = createLog(config, { write: () => undefined });
  return startService(config, { log, poolEntry: FIXTURE_PROCESS, ...options });
};
/** Late in a start, when records, files, queue and webhooks are open. */
const LATE: ServiceOptions = {
  now: () => {
    throw new Error('no clock');
  },
};

describe('a start that fails half-way', () => {
  // The folder of the records is locked for as long as they are open, so a second start tells.
  it('leaves the records closed when the folder of frames cannot be made', async () => {
    const DATA_DIR = temporaryFolder();
    writeFileSync(join(DATA_DIR, 'incoming'), 'no folder');
    await expect(failingStart({ DATA_DIR })).rejects.toThrow(/EEXIST|ENOTDIR/);
    rmSync(join(DATA_DIR, 'incoming'));
    const { url } = await serviceForTest({ DATA_DIR });
    expect((await put(await newShoot(url), 'a.jpg', 'measure a')).status).toBe(201);
  });

  it('leaves nothing open when its last steps fail', async () => {
    const DATA_DIR = temporaryFolder();
    await expect(failingStart({ DATA_DIR, RETAIN_DAYS: '1' }, LATE)).rejects.toThrow('no clock');
    const { url } = await serviceForTest({ DATA_DIR });
    expect((await put(await newShoot(url), 'a.jpg', 'measure a')).status).toBe(201);
  });

  it('leaves the records closed when its port is taken', async () => {
    const DATA_DIR = temporaryFolder();
    const { url } = await serviceForTest();
    await expect(failingStart({ DATA_DIR, PORT: new URL(url).port })).rejects.toMatchObject({ code: 'bad-configuration' }); // prettier-ignore
    await serviceForTest({ DATA_DIR });
  });

  describe.skipIf(!REDIS_INSTALLED)(`over Redis${REDIS_NOTE}`, () => {
    const redis = redisForFile();
    it('leaves no connection to Redis', async () => {
      const connections = async (): Promise<number> => {
        const list = (await client.client('LIST')) as string;
        return list.trim().split('\n').length;
      };
      const client = new Redis(redis().url);
      onTestFinished(() => void client.disconnect());
      const before = await connections();
      const environment = {
        DATA_DIR: temporaryFolder(),
        REDIS_URL: redis().url,
        REDIS_PREFIX: newPrefix(),
        RETAIN_DAYS: '1',
        WEBHOOK_ALLOW: 'https://hooks.example',
        WEBHOOK_SECRET: Buffer.alloc(32, 1).toString('base64'),
      };
      await expect(failingStart(environment, LATE)).rejects.toThrow('no clock');
      await until(async () => (await connections()) === before);
    });
  });
});
