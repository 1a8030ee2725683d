import { join } from 'node:path';
import type { Config } from '../config.js';
import { openFolderFiles } from '../store/folder-files.js';
import { apiFrames, checkFrameApi } from './api-frames.js';
import { type OpenFrame, copiedFrames } from './copied-frames.js';
import { type FrameSource, localFrameSource } from './frame-source.js';

/** Where the workers of this configuration get frames. Throws `bad-configuration`. */
export async function openFrameSource(config: Config): Promise<FrameSource> {
  const copied = (open: OpenFrame): Promise<FrameSource> =>
    copiedFrames({ open, folder: join(config.dataDir, 'fetched'), timeLimitSeconds: config.frameTimeoutSeconds });
  switch (config.frameFiles) {
    case 'folder': {
      const files = await openFolderFiles(config.dataDir);
      return localFrameSource((shootId, sha256) => files.localPath(shootId, sha256));
    }
    case 'bucket': {
      // Loaded only where it is asked for.
      const { openBucketFiles } = await import('../store/s3/bucket-files.js');
      const files = openBucketFiles(config.bucket);
      return copied((shootId, sha256) => files.openRead(shootId, sha256));
    }
    case 'api': {
      const api = { url: config.frameApiUrl, secret: config.frameApiSecret };
      await checkFrameApi(api);
      return copied(apiFrames(api));
    }
  }
}
