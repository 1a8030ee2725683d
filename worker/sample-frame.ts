import type { FrameSamples } from '../src/contracts/calibration.js';
import { decodeFrame } from './decode/decode-frame.js';
import { renderingKeyOf } from './measure/rendering-key.js';
import { sampleBlocks } from './measure/sample-blocks.js';
import { openFrame, sourceOf } from './open-frame.js';
import { withMakerExposure } from './read/maker-exposure.js';

/** Reduces one frame of a bracket to a grid of file-linear block means; throws as `measureFrame` does. */
export async function sampleFrame(bytes: Buffer, { maxPixels }: { maxPixels: number }): Promise<FrameSamples> {
  const { sniffed, exposure: written, orientation, exifColourSpace } = await openFrame(bytes);
  const decoded = await decodeFrame(bytes, sniffed, { maxPixels, orientation, exifColourSpace });
  const { exposure } = withMakerExposure(written, decoded.makerExposure ?? null);
  return {
    exposure,
    source: sourceOf(bytes, decoded),
    encoding: decoded.encoding,
    key: renderingKeyOf(exposure, decoded.profile.description),
    ...sampleBlocks(decoded),
  };
}
