import type { Metadata } from 'sharp';
import { StopledgerError } from '../../src/errors.js';
import { announcedCodedColour, announcedSizesPx } from './box-file.js';
import { codedColourHandling } from './coded-colour.js';
import { decideColour, takenAsSrgb, type CodeScale, type ColourHandling } from './colour-handling.js';
import type { DecodeOptions, DecodedFrame, ExifColourSpace } from './decoded-frame.js';
import { exifColourHandling } from './exif-colour.js';
import { whatIsMissing } from './file-end.js';
import { decodePrimaryImage } from './libheif-module.js';
import { refuseTooManyPixels } from './pixel-limit.js';
import { sharp } from './sharp-setup.js';

const SCALE: CodeScale = { maxCode: 255, fullCode: 255 };

/**
 * HEIC and HEIF (HEVC inside): the primary image as 8-bit RGB. The decoder has turned it upright already, whatever
 * its Exif says, so `orientation` is 1. The embedded profile is read, not applied. Errors as `decodeFrame`.
 */
export async function decodeHeif(bytes: Buffer, { maxPixels, exifColourSpace }: DecodeOptions): Promise<DecodedFrame> {
  for (const { widthPx, heightPx } of announcedSizesPx(bytes)) refuseTooManyPixels(widthPx, heightPx, maxPixels);
  const missing = whatIsMissing(bytes, 'heif');
  if (missing !== null) throw new StopledgerError('frame-truncated', `The HEIF file ends early: ${missing}`);
  const { widthPx, heightPx, rgb } = await decodePrimaryImage(bytes, (width, height) =>
    refuseTooManyPixels(width, height, maxPixels),
  );
  const header = await readHeader(bytes);
  const sourceBitDepth = header?.bitsPerSample ?? 8;
  const notes: string[] = [];
  if (header === null) notes.push('The header could not be read again for a colour profile; none was used.');
  if (sourceBitDepth > 8) notes.push(`The file has ${sourceBitDepth} bits a sample; it was decoded to 8.`);
  if (header?.hasAlpha) notes.push('The file has an alpha channel; it was dropped and colours measured as stored.');
  return {
    format: 'heif',
    encoding: 'rendered',
    storedWidthPx: widthPx,
    storedHeightPx: heightPx,
    orientation: 1,
    sourceBitDepth,
    sourceChannels: header?.channels ?? 3,
    data: rgb,
    channels: 3,
    maxCode: 255,
    ...colourOf(bytes, header, exifColourSpace),
    clipFromCode: [255, 255, 255],
    notes,
  };
}

function colourOf(
  bytes: Buffer,
  header: Metadata | null,
  exifColourSpace: ExifColourSpace | undefined,
): ColourHandling {
  if (header?.icc === undefined) {
    const coded = announcedCodedColour(bytes);
    if (coded !== null) return codedColourHandling(coded, 3, SCALE);
    const stated = exifColourHandling(exifColourSpace, 3, SCALE);
    if (stated !== null) return stated;
  }
  const decision = decideColour(header?.icc, 3, SCALE);
  if ('handling' in decision) return decision.handling;
  return takenAsSrgb(3, SCALE, 'table', decision.description, `${decision.because}, so codes are taken as sRGB`);
}

/** The container's header as sharp reads it; it needs no HEVC decoder for that. Null when it cannot. */
async function readHeader(bytes: Buffer): Promise<Metadata | null> {
  try {
    return await sharp(bytes, { limitInputPixels: false, failOn: 'none' }).metadata();
  } catch {
    return null;
  }
}
