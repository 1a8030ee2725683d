import type { SniffedFormat } from '../read/sniff-format.js';
import { missingFromBoxes } from './box-file.js';
import { missingFromItemLocations } from './item-locations.js';
import { missingFromTiff } from './tiff-extents.js';

/**
 * What of the file's announced parts is not in the bytes, as a sentence; null when all announced parts are
 * there (or the format announces nothing and the decoder itself tells: JPEG and GIF). Reads only headers.
 */
export function whatIsMissing(bytes: Buffer, format: SniffedFormat['format']): string | null {
  switch (format) {
    case 'png':
      return missingFromPng(bytes);
    case 'webp':
      return missingFromRiff(bytes);
    case 'tiff':
      return missingFromTiff(bytes, 'first-image');
    case 'avif':
    case 'heif':
      return missingFromBoxes(bytes) ?? missingFromItemLocations(bytes);
    case 'jpeg':
    case 'gif':
    case 'raw':
      return null;
  }
}

/** The same once a decoder has refused the header: then anything that lies beyond the end is the likely cause. */
export function whatIsMissingAnywhere(bytes: Buffer, format: SniffedFormat['format']): string | null {
  return format === 'tiff' ? missingFromTiff(bytes, 'anything') : whatIsMissing(bytes, format);
}

/** PNG (W3C third edition, clauses 5.3 and 5.6): chunks of length, type, data, CRC up to IEND. */
function missingFromPng(bytes: Buffer): string | null {
  let at = 8;
  while (at + 8 <= bytes.length) {
    const lengthBytes = bytes.readUInt32BE(at);
    const type = bytes.toString('latin1', at + 4, at + 8);
    const end = at + 12 + lengthBytes;
    if (end > bytes.length) return `chunk ${type} needs bytes up to ${end}, the file has ${bytes.length}`;
    if (type === 'IEND') return null;
    at = end;
  }
  return `no IEND chunk within ${bytes.length} bytes`;
}

/** WebP is a RIFF file (RFC 9649, clause 2.4): the length at byte 4 counts everything after byte 8. */
function missingFromRiff(bytes: Buffer): string | null {
  if (bytes.length < 12) return `a RIFF header needs 12 bytes, the file has ${bytes.length}`;
  const end = 8 + bytes.readUInt32LE(4);
  return end > bytes.length ? `the RIFF header announces ${end} bytes, the file has ${bytes.length}` : null;
}
