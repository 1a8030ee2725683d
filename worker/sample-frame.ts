import type { FrameSamples } from '../src/contracts/calibration.js';
import { decodeFrame } from './decode/decode-frame.js';
import { renderingKeyOf } from './measure/rendering-key.js';
import { sampleBlocks } from './measure/sample-blocks.js';
import { openFrame, sourceOf } from './open-frame.js';

/** Reduces one frame of a bracket to a grid of file-linear block means; throws as `measureFrame` does. */
export async function sampleFrame(bytes: Buffer, { maxPixels }: { maxPixels: number }): Promise<FrameSamples> {
  const { sniffed, exposure, orientation, exifColourSpace } = await openFrame(bytes);
  const decoded = await decodeFrame(bytes, sniffed, { maxPixels, orientation, exifColourSpace });
  return {
    exposure,
    source: sourceOf(bytes, decoded),
    encoding: decoded.encoding,
    key: renderingKeyOf(exposure, decoded.profile.description),
    ...sampleBlocks(decoded),
  };
}
