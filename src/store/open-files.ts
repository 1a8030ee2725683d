import type { Config } from '../config.js';
import { StopledgerError } from '../errors.js';
import { openFolderFiles } from './folder-files.js';
import type { FrameFiles } from './port.js';

/** How long a start waits for a bucket to answer. */
const START_WAIT_MS = 20_000;
const TRY_AGAIN_MS = 250;

async function untilItAnswers(bucket: string, check: () => Promise<void>): Promise<void> {
  const endsAt = performance.now() + START_WAIT_MS;
  for (;;) {
    try {
      await check();
      return;
    } catch (error) {
      const away = error instanceof StopledgerError && error.code === 'storage-unavailable';
      if (!away || performance.now() > endsAt) {
        const reason = error instanceof Error ? error.message : String(error);
        throw new StopledgerError('bad-configuration', `S3_BUCKET ${bucket}: ${reason}`, { cause: error });
      }
      await new Promise((resolve) => setTimeout(resolve, TRY_AGAIN_MS));
    }
  }
}

/** Where the service keeps frame files, as the configuration says. Throws `bad-configuration`. */
export async function openFrameFiles(config: Config): Promise<FrameFiles> {
  switch (config.frameFiles) {
    case 'folder':
      return openFolderFiles(config.dataDir);
    case 'bucket': {
      // Loaded only where it is asked for: the embedded service starts without it.
      const { openBucketFiles } = await import('./s3/bucket-files.js');
      const files = openBucketFiles(config.bucket);
      await untilItAnswers(config.bucket.bucket, () => files.check());
      return files;
    }
    case 'api':
      throw new StopledgerError(
        'bad-configuration',
        'FRAME_FILES=api is for workers, which get frames from the service; the service keeps them in a folder or bucket',
      );
  }
}
