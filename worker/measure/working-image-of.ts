import { STRAIGHT, type ToneCurve } from '../../src/photometry/tone-response.js';
import type { DecodedFrame } from '../decode/decoded-frame.js';
import { displayed } from './display.js';
import { FrameBuffers } from './frame-buffers.js';
import { fileScaleOf } from './file-scale.js';
import { orientPlane } from './orient.js';
import type { Reduction } from './reduce.js';
import type { WorkingImage } from './working-image.js';

/**
 * The upright working image. `display` is the curve that makes a picture of scene light again: the file's own
 * response for rendered files, an assumed one for raw. Its planes lie in `buffers` and in the reduction.
 */
export function workingImageOf(
  reduction: Reduction,
  frame: DecodedFrame,
  display: ToneCurve,
  buffers = new FrameBuffers(),
): WorkingImage {
  const size = { widthPx: reduction.blocksWide, heightPx: reduction.blocksHigh };
  const rgb = orientPlane({ data: reduction.blockRgb, ...size, channels: 3 }, frame.orientation);
  const top = orientPlane({ data: reduction.blockTopShare, ...size, channels: 1 }, frame.orientation);
  const bottom = orientPlane({ data: reduction.blockBottomShare, ...size, channels: 1 }, frame.orientation);
  return {
    widthPx: rgb.widthPx,
    heightPx: rgb.heightPx,
    linearRgb: rgb.data,
    clippedShare: top.data,
    blackShare: bottom.data,
    blockPx: reduction.blockPx,
    rgbToXyz: frame.rgbToXyz,
    fileScale: fileScaleOf(frame, frame.encoding === 'scene' ? STRAIGHT : display),
    ...displayed(rgb.data, frame.rgbToXyz, display, buffers),
  };
}
