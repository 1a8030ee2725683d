import { join } from 'node:path';
import { setTimeout as delay } from 'node:timers/promises';
import type { Config } from '../config.js';
import { StopledgerError } from '../errors.js';
import { isFolderOfFrames, openFolderFiles } from '../store/folder-files.js';
import { apiFrames, checkFrameApi } from './api-frames.js';
import { type OpenFrame, copiedFrames } from './copied-frames.js';
import { type FrameSource, localFrameSource } from './frame-source.js';

/** How long a start waits for the service to make its folder. */
const START_WAIT_MS = 20_000;
const LOOK_AGAIN_MS = 250;

/**
 * A worker never makes the folder of frames: over a mount that is not there it would find every frame missing and, being
 * quick about it, fail them all.
 */
async function untilThere(dataDir: string, startWaitMs: number): Promise<void> {
  const endsAt = performance.now() + startWaitMs;
  while (!isFolderOfFrames(dataDir)) {
    if (performance.now() > endsAt) {
      const message = `DATA_DIR ${dataDir} holds no frames of a service; with FRAME_FILES=folder the service and its workers need the same folder`;
      throw new StopledgerError('bad-configuration', message);
    }
    await delay(LOOK_AGAIN_MS);
  }
}

/** Where the workers of this configuration get frames. Throws `bad-configuration`. */
export async function openFrameSource(config: Config, startWaitMs = START_WAIT_MS): Promise<FrameSource> {
  const copied = (open: OpenFrame): Promise<FrameSource> =>
    copiedFrames({ open, folder: join(config.dataDir, 'fetched'), timeLimitSeconds: config.frameTimeoutSeconds });
  switch (config.frameFiles) {
    case 'folder': {
      await untilThere(config.dataDir, startWaitMs);
      const files = await openFolderFiles(config.dataDir);
      return localFrameSource((shootId, sha256) => files.localPath(shootId, sha256));
    }
    case 'bucket': {
      // Loaded only where it is asked for.
      const { openBucketFiles } = await import('../store/s3/bucket-files.js');
      const { isUnfit } = await import('../store/s3/bucket-error.js');
      const files = openBucketFiles(config.bucket);
      // No such frame, or a bucket that is away: both are well at the start.
      await files.read('none', '0'.repeat(64)).catch((error: unknown) => {
        if (!(error instanceof StopledgerError) || !isUnfit(error.cause)) return;
        throw new StopledgerError('bad-configuration', `S3_BUCKET ${config.bucket.bucket}: ${error.message}`);
      });
      return copied((shootId, sha256) => files.openRead(shootId, sha256));
    }
    case 'api': {
      const api = { url: config.frameApiUrl, secret: config.frameApiSecret };
      await checkFrameApi(api);
      return copied(apiFrames(api));
    }
  }
}
