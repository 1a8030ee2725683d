import type { Config } from '../config.js';
import { StopledgerError } from '../errors.js';
import { openFolderFiles } from './folder-files.js';
import type { FrameFiles } from './port.js';

/** Where the service keeps frame files, as the configuration says. Throws `bad-configuration`. */
export async function openFrameFiles(config: Config): Promise<FrameFiles> {
  switch (config.frameFiles) {
    case 'folder':
      return openFolderFiles(config.dataDir);
    case 'bucket': {
      // Loaded only where it is asked for: the embedded service starts without it.
      const { openBucketFiles } = await import('./s3/bucket-files.js');
      const files = openBucketFiles(config.bucket);
      await files.check().catch((error: unknown) => {
        const reason = error instanceof Error ? error.message : String(error);
        throw new StopledgerError('bad-configuration', `S3_BUCKET ${config.bucket.bucket}: ${reason}`, {
          cause: error,
        });
      });
      return files;
    }
    case 'api':
      throw new StopledgerError(
        'bad-configuration',
        'FRAME_FILES=api is for workers, which get frames from the service; the service keeps them in a folder or bucket',
      );
  }
}
