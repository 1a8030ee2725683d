import type { FrameMeasurement } from '../contracts/measurement.js';
import { renderOverlay } from '../render/overlay.js';

const KEPT_BYTES = 64 * 1024 * 1024;
const kept = new Map<string, Buffer>();
let keptBytes = 0;
/** Rises when anything is forgotten: what was being drawn then is not kept, since it may be of a shoot that is gone. */
let forgotten = 0;

/** Pictures of a shoot that is gone are not kept. */
export function forgetOverlays(shootId: string): void {
  forgotten += 1;
  for (const [key, { byteLength }] of kept) {
    if (!key.startsWith(`${shootId} `)) continue;
    kept.delete(key);
    keptBytes -= byteLength;
  }
}

/** The preview with its regions drawn in; drawing is slow next to reading, so the last ones are kept. */
export async function overlayOf(
  shootId: string,
  sha256: string,
  previewJpeg: Buffer,
  measurement: FrameMeasurement,
): Promise<Buffer> {
  const key = `${shootId} ${sha256}`;
  const here = kept.get(key);
  if (here !== undefined) return here;
  const forgottenBefore = forgotten;
  const overlay = await renderOverlay(previewJpeg, measurement);
  if (!kept.has(key) && forgotten === forgottenBefore) {
    kept.set(key, overlay);
    keptBytes += overlay.byteLength;
    for (const [oldest, bytes] of kept) {
      if (keptBytes <= KEPT_BYTES) break;
      kept.delete(oldest);
      keptBytes -= bytes.byteLength;
    }
  }
  return overlay;
}
