import type { ExposureData } from '../../src/contracts/exposure.js';
import type { ExifColourSpace } from '../decode/decoded-frame.js';
import { exifBlocks } from './exif-blocks.js';
import { ExifTagSet } from './exif-tag-set.js';
import { exposureFromTags } from './exposure-from-tags.js';
import { messageOf, parseExif } from './parse-exif.js';
import type { SniffedFormat } from './sniff-format.js';

export interface ExposureFile {
  exposure: ExposureData;
  /** Exif orientation to apply to the stored pixels, 1..8; 1 where the container's own rotation counts (HEIF, AVIF). */
  orientation: number;
  /** Of the rendering that the Exif data belong to. */
  exifColourSpace: ExifColourSpace;
  /** Sentences for the measurement's notes. */
  notes: string[];
}

/**
 * Reads a frame's embedded exposure data, whatever the container. Never throws on damaged or hostile bytes: what
 * cannot be read is null and named in `exposure.missing` with the reason. Places are never read.
 *
 * @param bytes the whole file.
 * @param sniffed what `sniffFormat` said of it.
 */
export async function readExposureData(bytes: Buffer, sniffed: SniffedFormat): Promise<ExposureFile> {
  let tags = new ExifTagSet(new Map());
  let interoperabilityIndex: string | null = null;
  let problems: string[];
  try {
    ({ tags, interoperabilityIndex, problems } = await parseExif(await exifBlocks(bytes, sniffed)));
  } catch (thrown) {
    problems = [messageOf(thrown)];
  }
  const { exposure, notes } = exposureFromTags(tags);
  const problem = problems[0];
  if (tags.isEmpty) {
    const because =
      problem === undefined ? 'the file holds no Exif data' : `the exposure data could not be read: ${problem}`;
    exposure.missing = exposure.missing.map(({ field }) => ({ field, because }));
  } else if (problem !== undefined) {
    notes.push(`Part of the exposure data could not be read: ${problem}`);
  }
  const exifColourSpace = colourSpaceOf(tags, interoperabilityIndex);
  return { exposure, orientation: orientationOf(tags, sniffed, notes), exifColourSpace, notes };
}

/** Reserved values count as 1 (Exif 2.2 p. 18). HEIF and AVIF say in their own boxes how to stand; Exif does not count. */
function orientationOf(tags: ExifTagSet, { format }: SniffedFormat, notes: string[]): number {
  const written = tags.number('orientation');
  if (written === null || format === 'heif' || format === 'avif') return 1;
  if (Number.isInteger(written) && written >= 1 && written <= 8) return written;
  notes.push(`The Exif orientation ${written} is not one of 1 to 8 and was taken as 1`);
  return 1;
}

/** See `ExifColourSpace` for the rule and its source. */
function colourSpaceOf(tags: ExifTagSet, interoperabilityIndex: string | null): ExifColourSpace {
  const written = tags.number('colourSpace');
  if (written === null) return 'not-stated';
  if (written === 1) return 'srgb';
  const isUncalibrated = written === 0xffff || written === 2;
  return isUncalibrated && interoperabilityIndex === 'R03' ? 'adobe-rgb' : 'other';
}
