import type { Metadata, Sharp, SharpOptions } from 'sharp';
import { StopledgerError } from '../../src/errors.js';
import type { SniffedFormat } from '../read/sniff-format.js';
import { announcedCodedColour } from './box-file.js';
import { codedColourHandling } from './coded-colour.js';
import {
  convertedToSrgb,
  decideColour,
  takenAsSrgb,
  type CodeScale,
  type ColourDecision,
  type ColourHandling,
} from './colour-handling.js';
import type { DecodeOptions, DecodedFrame, ExifColourSpace } from './decoded-frame.js';
import { decodingError, ENDS_EARLY, firstLine, messageOf } from './decoding-error.js';
import { whatIsMissing, whatIsMissingAnywhere } from './file-end.js';
import { exifColourHandling } from './exif-colour.js';
import { refuseIncompleteScans } from './jpeg-scans.js';
import { refuseTooManyPixels } from './pixel-limit.js';
import { pngChunkHandling, pngCodedHandling, readPngColour } from './png-colour.js';
import { refuseInflatedProfile } from './png-profile.js';
import { sharp } from './sharp-setup.js';

type PictureFormat = Exclude<SniffedFormat['format'], 'raw' | 'heif'>;

/** Warnings of the decoders that leave every pixel right; anything else they warn of means damage. */
const HARMLESS_WARNING =
  /extraneous bytes before marker|Invalid SOS parameters|Unknown (Adobe|field)|TIFFReadDirectory/i;

/**
 * JPEG, PNG, TIFF, WebP, AVIF and GIF: the first (or only) image, 8 or 16 bit, grey or RGB, in stored orientation.
 * Alpha is dropped, not flattened: colours are those stored, whatever their opacity. Errors as `decodeFrame`.
 */
export async function decodePicture(
  bytes: Buffer,
  format: PictureFormat,
  { maxPixels, orientation, exifColourSpace }: DecodeOptions,
): Promise<DecodedFrame> {
  if (format === 'png') refuseInflatedProfile(bytes);
  const header = await readHeader(bytes, format);
  const { width, height, channels: sourceChannels } = header;
  refuseTooManyPixels(width, height, maxPixels);
  const missing = whatIsMissing(bytes, format);
  if (missing !== null) throw new StopledgerError('frame-truncated', `The ${format} file ends early: ${missing}`);

  if (format === 'jpeg') refuseIncompleteScans(bytes);
  // The decoder takes a size of its own in the place of none (GIF89a specification, section 18: logical screen size).
  if (format === 'gif') refuseTooManyPixels(bytes.readUInt16LE(6), bytes.readUInt16LE(8), maxPixels);

  const layout = pixelLayout(header, format);
  const decision = colourDecision(bytes, header, layout, format, exifColourSpace);
  const convert = 'convertBecause' in decision;
  const open = (failOn: 'warning' | 'error'): Sharp => {
    const options: SharpOptions = { failOn, limitInputPixels: maxPixels, sequentialRead: true, ignoreIcc: !convert };
    const image = sharp(bytes, options).removeAlpha();
    if (convert) return image.toColourspace('srgb').raw();
    if (layout.maxCode === 65_535)
      return image.toColourspace(layout.channels === 1 ? 'grey16' : 'rgb16').raw({ depth: 'ushort' });
    return image.toColourspace(layout.channels === 1 ? 'b-w' : 'srgb').raw();
  };
  const notes = headerNotes(header);
  if (!convert && decision.handling.profile.handling === 'stated-space') {
    notes.push(`${decision.handling.profile.because}.`);
  }
  const { data, info } = await decodeStrictly(open, format, notes);
  const maxCode = convert ? 255 : layout.maxCode;
  const fullCode = convert ? 255 : layout.fullCode;
  const channels = info.channels === 1 ? 1 : 3;
  const samples = maxCode === 65_535 ? new Uint16Array(data.buffer, data.byteOffset, data.length / 2) : data;
  if (samples.length !== width * height * channels)
    throw new StopledgerError(
      'frame-corrupt',
      `Decoded ${samples.length} samples, expected ${width * height * channels}`,
    );

  return {
    format,
    encoding: 'rendered',
    storedWidthPx: width,
    storedHeightPx: height,
    orientation: format === 'avif' ? 1 : orientation,
    sourceBitDepth: layout.sourceBitDepth,
    sourceChannels,
    data: samples,
    channels,
    maxCode,
    ...(convert ? await conversionResult(bytes, decision, header.space === 'cmyk', channels) : decision.handling),
    clipFromCode: new Array<number>(channels).fill(fullCode),
    notes,
  };
}

/**
 * The decoder leaves codes as they are, without a word, when it cannot use a profile; so a few thousand pixels are
 * compared with and without it, and an unchanged file is said to be taken as sRGB.
 */
async function conversionResult(
  bytes: Buffer,
  { convertBecause, because, description }: { convertBecause: string; because: string; description: string | null },
  isInks: boolean,
  channels: 1 | 3,
): Promise<ColourHandling> {
  if (!isInks) {
    const sample = (ignoreIcc: boolean): Promise<Buffer> =>
      sharp(bytes, { ignoreIcc, failOn: 'error' })
        .removeAlpha()
        .toColourspace('srgb')
        .resize(64, 64, { fit: 'fill', kernel: 'nearest' })
        .raw()
        .toBuffer();
    const [converted, asStored] = [await sample(false), await sample(true)];
    if (converted.equals(asStored)) {
      const taken = `${because}; the decoder's conversion changed nothing, so codes are taken as sRGB`;
      return takenAsSrgb(channels, { maxCode: 255, fullCode: 255 }, 'table', description, taken);
    }
  }
  return convertedToSrgb(description, convertBecause);
}

async function readHeader(bytes: Buffer, format: PictureFormat): Promise<Metadata> {
  try {
    return await sharp(bytes, { limitInputPixels: false, failOn: 'none' }).metadata();
  } catch (thrown) {
    const missing = whatIsMissingAnywhere(bytes, format);
    if (missing !== null)
      throw new StopledgerError('frame-truncated', `The ${format} file ends early: ${missing}`, { cause: thrown });
    throw decodingError(thrown, format);
  }
}

interface PixelLayout extends CodeScale {
  channels: 1 | 3;
  sourceBitDepth: number;
}

function pixelLayout(header: Metadata, format: PictureFormat): PixelLayout {
  const channels = header.space === 'b-w' || header.space === 'grey16' ? 1 : 3;
  if (header.depth === 'ushort') {
    const sourceBitDepth = header.bitsPerSample ?? 16;
    // 10- and 12-bit AVIF codes come shifted up to 16 bits, so that their full code is less than 65535.
    const fullCode =
      format === 'avif' && sourceBitDepth < 16 ? (2 ** sourceBitDepth - 1) * 2 ** (16 - sourceBitDepth) : 65_535;
    return { channels, sourceBitDepth, maxCode: 65_535, fullCode };
  }
  if (header.depth === 'uchar')
    return { channels, sourceBitDepth: header.bitsPerSample ?? 8, maxCode: 255, fullCode: 255 };
  throw new StopledgerError(
    'frame-format-unsupported',
    `Samples of the ${format} file are of type ${header.depth}, expected whole numbers of at most 16 bits`,
  );
}

function colourDecision(
  bytes: Buffer,
  header: Metadata,
  layout: PixelLayout,
  format: PictureFormat,
  exifColourSpace: ExifColourSpace | undefined,
): ColourDecision {
  const { space, icc } = header;
  if (space === 'cmyk') {
    const by =
      icc === undefined
        ? 'a general CMYK profile, for the file holds none'
        : 'its embedded profile (or a general one, should that be damaged)';
    const because = 'The file holds CMYK inks';
    return { convertBecause: `${because}; they were converted to sRGB through ${by}`, because, description: null };
  }
  if (!['srgb', 'rgb', 'rgb16', 'b-w', 'grey16'].includes(space)) {
    const because = `The file holds ${space} values`;
    return { convertBecause: `${because}; they were converted to sRGB`, because, description: null };
  }
  const handling = statedHandling(bytes, layout, format, icc !== undefined, exifColourSpace);
  return handling === null ? decideColour(icc, layout.channels, layout) : { handling };
}

/** What the file says of its colour beside a profile, where that counts: most precise first, Exif last. Null: nothing. */
function statedHandling(
  bytes: Buffer,
  layout: PixelLayout,
  format: PictureFormat,
  hasProfile: boolean,
  exifColourSpace: ExifColourSpace | undefined,
): ColourHandling | null {
  const { channels } = layout;
  if (format === 'png') {
    const chunks = readPngColour(bytes);
    // Of all marks of a PNG, code points alone stand above a profile.
    if (chunks.coded !== null) return pngCodedHandling(chunks.coded, channels, layout);
    const handling = hasProfile ? null : pngChunkHandling(chunks, channels, layout);
    if (handling !== null) return handling;
  }
  if (hasProfile) return null;
  const coded = format === 'avif' ? announcedCodedColour(bytes) : null;
  if (coded !== null) return codedColourHandling(coded, channels, layout);
  return exifColourHandling(exifColourSpace, channels, layout);
}

function headerNotes(header: Metadata): string[] {
  const notes: string[] = [];
  if ((header.pages ?? 1) > 1) notes.push(`The file holds ${header.pages} images; only the first was measured.`);
  if (header.hasAlpha) notes.push('The file has an alpha channel; it was dropped and colours measured as stored.');
  if (header.space === 'cmyk') notes.push('The file holds CMYK inks and was measured after conversion to sRGB.');
  return notes;
}

/** Decodes so that any sign of damage fails; only warnings known to be harmless are let pass, with a note. */
async function decodeStrictly(
  open: (failOn: 'warning' | 'error') => Sharp,
  format: PictureFormat,
  notes: string[],
): Promise<{ data: Buffer; info: { channels: number } }> {
  try {
    return await open('warning').toBuffer({ resolveWithObject: true });
  } catch (thrown) {
    const message = messageOf(thrown);
    if (!HARMLESS_WARNING.test(message) || ENDS_EARLY.test(message)) throw decodingError(thrown, format);
    notes.push(`The decoder warned: ${firstLine(message)}.`);
  }
  try {
    return await open('error').toBuffer({ resolveWithObject: true });
  } catch (thrown) {
    throw decodingError(thrown, format);
  }
}
