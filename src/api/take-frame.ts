import type { FrameReceipt } from '../contracts/api.js';
import { StopledgerError } from '../errors.js';
import type { FrameRecord, ReceivedFile, ShootRecord } from '../store/port.js';
import type { AppDeps } from './deps.js';
import { frameHref, measuringOptionsOf } from './requests.js';

export function receiptOf(frame: FrameRecord, created: boolean): FrameReceipt {
  return {
    name: frame.name,
    sha256: frame.sha256,
    bytes: frame.bytes,
    state: frame.state,
    created,
    href: frameHref(frame.shootId, frame.name),
  };
}

/**
 * Takes one frame. When it returns, the bytes and the row are on disk and the frame is in the queue (or will be put
 * there at the next start). The order matters: bytes, then row, then queue, so that no row is without its bytes.
 * Throws what `FrameFiles.receive` and `ShootStore.addFrame` throw, and `digest-mismatch`.
 */
export async function takeFrame(
  deps: AppDeps,
  shoot: ShootRecord,
  upload: { name: string; source: AsyncIterable<Uint8Array>; sha256: string | null },
): Promise<FrameReceipt> {
  const { store, files, queue, events, config } = deps;
  const received = await files.receive(upload.source, config.maxFrameBytes);
  let kept = false;
  try {
    if (upload.sha256 !== null && upload.sha256 !== received.sha256) {
      const message = `${received.bytes} bytes with SHA-256 ${received.sha256} came; ${upload.sha256} was announced`;
      throw new StopledgerError('digest-mismatch', message);
    }
    await refuseIfTaken(deps, shoot.id, upload.name, received);
    await files.keep(received, shoot.id);
    kept = true;
  } finally {
    if (!kept) await files.discard(received);
  }

  const { sha256, bytes } = received;
  const added = await store
    .addFrame({ shootId: shoot.id, name: upload.name, sha256, bytes, maxFrames: config.maxFramesPerShoot })
    .catch(async (error: unknown) => {
      // Deleted meanwhile: what was kept must not outlive the shoot.
      if (error instanceof StopledgerError && error.code === 'shoot-not-found') await files.deleteShoot(shoot.id);
      throw error;
    });
  if (added.created) events.frame(shoot.id, upload.name, 'received');
  if (added.frame.state === 'received') {
    const options = measuringOptionsOf(shoot, deps.calibrations);
    await queue.add({ shootId: shoot.id, frameName: upload.name, sha256, options });
  }
  return receiptOf(added.frame, added.created);
}

/**
 * Before the bytes get their place, where they stay for as long as the shoot does: what is known already to be refused.
 * The shoot is looked at again, since receiving may take long.
 */
async function refuseIfTaken(deps: AppDeps, shootId: string, name: string, received: ReceivedFile): Promise<void> {
  const here = await deps.store.getFrameRecord(shootId, name);
  if (here !== null && here.sha256 !== received.sha256) {
    throw new StopledgerError(
      'frame-name-taken',
      `${JSON.stringify(name)} is here with SHA-256 ${here.sha256}; the bytes sent have ${received.sha256}`,
    );
  }
  if (here !== null) return;
  const shoot = await deps.store.getShoot(shootId);
  if (shoot === null) throw new StopledgerError('shoot-not-found', `there is no shoot ${JSON.stringify(shootId)}`);
  if (shoot.completedAt !== null) {
    throw new StopledgerError('shoot-complete', `shoot ${shootId} was completed and takes no new frame`);
  }
  const { maxFramesPerShoot } = deps.config;
  if (shoot.frameCount >= maxFramesPerShoot) {
    throw new StopledgerError('too-many-frames', `a shoot holds at most ${maxFramesPerShoot} frames`);
  }
}
