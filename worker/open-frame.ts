import { createHash } from 'node:crypto';
import type { FrameSource } from '../src/contracts/measurement.js';
import { StopledgerError } from '../src/errors.js';
import type { DecodedFrame } from './decode/decoded-frame.js';
import { swapsAxes } from './measure/orient.js';
import { readExposureData, type ExposureFile } from './read/read-exposure-data.js';
import { sniffFormat, type SniffedFormat } from './read/sniff-format.js';

/** Tells the format by content and reads the exposure data. @throws `frame-empty`, `frame-not-an-image` */
export async function openFrame(bytes: Buffer): Promise<ExposureFile & { sniffed: SniffedFormat }> {
  if (bytes.length === 0) throw new StopledgerError('frame-empty', 'Expected an image file but received 0 bytes');
  const sniffed = sniffFormat(bytes);
  if (!sniffed) {
    throw new StopledgerError(
      'frame-not-an-image',
      `Expected an image file but the first bytes (${bytes.subarray(0, 8).toString('hex')}) are those of no known format`,
    );
  }
  return { sniffed, ...(await readExposureData(bytes, sniffed)) };
}

/** What the file was, for the record. */
export function sourceOf(bytes: Buffer, decoded: DecodedFrame): FrameSource {
  const { storedWidthPx, storedHeightPx, orientation } = decoded;
  const turned = swapsAxes(orientation);
  return {
    format: decoded.format,
    bytes: bytes.length,
    sha256: createHash('sha256').update(bytes).digest('hex'),
    widthPx: turned ? storedHeightPx : storedWidthPx,
    heightPx: turned ? storedWidthPx : storedHeightPx,
    orientation,
    bitDepth: decoded.sourceBitDepth,
    channels: decoded.sourceChannels,
    profile: decoded.profile,
  };
}
