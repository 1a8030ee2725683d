import { StopledgerError } from '../errors.js';

/** A frame's file on this machine, for as long as it is not released. */
export interface FetchedFrame {
  path: string;
  /** What was fetched only for this may go. Never rejects; calling it twice changes nothing. */
  release(): Promise<void>;
}

/**
 * Where a worker gets the bytes of frames: a folder or mount that it shares with the service, a bucket, or the
 * service itself. `fetch` throws `frame-file-missing` (tried again), and `digest-mismatch` when what came does not
 * have the SHA-256 asked for. A source that copies checks while it copies; for one that hands out a shared file the
 * measuring process checks the very bytes that it measures.
 */
export interface FrameSource {
  /** Ends with the reason of `signal` when it is given. */
  fetch(shootId: string, sha256: string, signal?: AbortSignal): Promise<FetchedFrame>;
}

/** Frames in a folder of this machine or a mount, where `localPath` says; see `FrameFiles.localPath`. */
export function localFrameSource(localPath: (shootId: string, sha256: string) => string | null): FrameSource {
  return {
    async fetch(shootId, sha256) {
      const path = localPath(shootId, sha256);
      if (path === null) {
        const message = `the bytes of ${sha256} of shoot ${shootId} are not on this machine`;
        throw new StopledgerError('frame-file-missing', message);
      }
      return { path, release: () => Promise.resolve() };
    },
  };
}
