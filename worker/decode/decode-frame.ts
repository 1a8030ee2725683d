import { StopledgerError } from '../../src/errors.js';
import type { SniffedFormat } from '../read/sniff-format.js';
import { decodeHeif } from './decode-heif.js';
import { decodeRaw } from './decode-raw.js';
import { decodePicture } from './decode-picture.js';
import type { DecodeOptions, DecodedFrame } from './decoded-frame.js';

/**
 * Decodes one frame's file to pixels in stored orientation, with tables that turn codes into linear light.
 * Pass what `sniffFormat` said. The frame's `orientation` is what is still to be applied.
 *
 * Throws StopledgerError: `frame-empty`, `frame-not-an-image`, `frame-format-unsupported`, `frame-truncated`,
 * `frame-corrupt`, `frame-too-many-pixels`. A file that ends early is never decoded as if it were whole.
 */
export async function decodeFrame(
  bytes: Buffer,
  sniffed: SniffedFormat,
  options: DecodeOptions,
): Promise<DecodedFrame> {
  if (bytes.length === 0) throw new StopledgerError('frame-empty', 'The file has 0 bytes, expected an image');
  if (sniffed.format === 'raw') return decodeRaw(bytes, sniffed, options);
  if (sniffed.format === 'heif') return decodeHeif(bytes, options);
  return decodePicture(bytes, sniffed.format, options);
}
