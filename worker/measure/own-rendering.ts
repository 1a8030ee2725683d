import type { StopsHistogram } from '../../src/contracts/tone.js';
import { ASSUMED_CAMERA_CURVE } from '../../src/photometry/tone-response.js';
import { decodeFrame } from '../decode/decode-frame.js';
import type { EmbeddedPreview, ExifColourSpace } from '../decode/decoded-frame.js';
import { sniffFormat } from '../read/sniff-format.js';
import { reduceFrame } from './reduce.js';
import { toneOf } from './tone.js';

/** Smaller previews are thumbnails: sharpened, and with too few pixels to trace a curve. */
const LEAST_LONG_EDGE_PX = 480;

/**
 * Levels of the camera's own JPEG inside a raw, read as a JPEG of that camera is read when nothing else is known.
 * Beside the raw's own levels they teach that camera's response. Null where there is none that can be read.
 * `exifColourSpace` is the raw's own: cameras put no Exif into such previews, but render them in the space that it says.
 */
export async function ownRenderingOf(
  preview: EmbeddedPreview | null,
  maxPixels: number,
  exifColourSpace: ExifColourSpace,
): Promise<StopsHistogram | null> {
  if (preview === null || Math.max(preview.widthPx, preview.heightPx) < LEAST_LONG_EDGE_PX) return null;
  const sniffed = sniffFormat(preview.jpeg);
  if (sniffed?.format !== 'jpeg') return null;
  try {
    const decoded = await decodeFrame(preview.jpeg, sniffed, { maxPixels, orientation: 1, exifColourSpace });
    const reduction = reduceFrame(decoded, ASSUMED_CAMERA_CURVE.toScene);
    return toneOf(reduction, ASSUMED_CAMERA_CURVE.toFile).stopsHistogram;
  } catch {
    // The raw itself was read: a damaged preview only teaches nothing.
    return null;
  }
}
