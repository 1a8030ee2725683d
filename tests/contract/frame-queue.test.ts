import { createHash } from 'node:crypto';
import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe } from 'vitest';
import { openBullmqQueue } from '../../src/queue/bullmq-queue.js';
import { openFrameWorker } from '../../src/queue/bullmq-worker.js';
import { createEmbeddedQueue } from '../../src/queue/embedded-queue.js';
import { localFrameSource } from '../../src/queue/frame-source.js';
import { createMeasuringPool } from '../../src/queue/measuring-pool.js';
import { REDIS_INSTALLED, REDIS_NOTE, newPrefix, redisForFile } from '../support/redis-server.js';
import { FIXTURE_PROCESS } from '../support/service.js';
import { temporaryFolder } from '../support/temporary-folder.js';
import { frameQueueContract, type QueueUnderTest } from './frame-queue.contract.js';

const maxAttempts = 2;

async function* nothing(): AsyncGenerator<never> {
  // The tests add everything themselves.
}

/** Everything around a queue under test: frames as texts in a folder of the test's own. */
function surroundings(workers: number): Omit<QueueUnderTest, 'queue'> & {
  localPath: (shootId: string, sha256: string) => string;
} {
  const folder = temporaryFolder();
  return {
    workers,
    maxAttempts,
    localPath: (shootId, sha256) => join(folder, shootId, sha256),
    async putFrame(shootId, text) {
      const sha256 = createHash('sha256').update(text).digest('hex');
      mkdirSync(join(folder, shootId), { recursive: true });
      writeFileSync(join(folder, shootId, sha256), text);
      return sha256;
    },
    path: (name) => join(folder, name),
    touch: (path) => {
      writeFileSync(path, '');
    },
  };
}

frameQueueContract('embedded', async (workers) => {
  const around = surroundings(workers);
  const pool = createMeasuringPool({ workers, timeLimitSeconds: 60, maxAttempts, entry: FIXTURE_PROCESS });
  return {
    ...around,
    queue: createEmbeddedQueue({
      pool,
      localPath: around.localPath,
      onHandlerError: () => undefined,
      redeliverMs: [1, 2],
    }),
  };
});

describe.skipIf(!REDIS_INSTALLED)(`over Redis${REDIS_NOTE}`, () => {
  const redis = redisForFile();
  frameQueueContract('BullMQ', async (workers) => {
    const around = surroundings(workers);
    const pool = createMeasuringPool({ workers, timeLimitSeconds: 60, maxAttempts: 1, entry: FIXTURE_PROCESS });
    const link = { url: redis().url, prefix: newPrefix(), onTrouble: () => undefined };
    const worker = await openFrameWorker({
      link,
      pool,
      source: localFrameSource(around.localPath),
      timeLimitSeconds: 60,
      maxDeaths: 3,
      worker: 'test',
      versions: {},
    });
    const queue = await openBullmqQueue({
      link,
      maxAttempts,
      unfinished: nothing,
      isPending: () => Promise.resolve(true),
      onHandlerError: () => undefined,
      worker,
      sweepMs: 10,
      backoffMs: 0,
    });
    return { ...around, queue };
  });
});
