import { createHash } from 'node:crypto';
import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { createEmbeddedQueue } from '../../src/queue/embedded-queue.js';
import { createMeasuringPool } from '../../src/queue/measuring-pool.js';
import { temporaryFolder } from '../support/temporary-folder.js';
import { frameQueueContract } from './frame-queue.contract.js';

frameQueueContract('embedded', async (workers) => {
  const folder = temporaryFolder();
  const maxAttempts = 2;
  const pool = createMeasuringPool({
    workers,
    timeLimitSeconds: 60,
    maxAttempts,
    entry: new URL('../fixtures/pool/fixture-process.ts', import.meta.url),
  });
  return {
    queue: createEmbeddedQueue({
      pool,
      localPath: (shootId, sha256) => join(folder, shootId, sha256),
      onHandlerError: () => undefined,
      redeliverMs: [1, 2],
    }),
    workers,
    maxAttempts,
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
});
