import { TiffStructure, tiffImageDirectories, type TiffDirectory } from './tiff-directory.js';

/** Tags of TIFF 6.0, TIFF/EP (ISO 12234-2) and DNG that tell a raw file from a picture. */
const TAG = { compression: 0x0103, photometric: 0x0106, make: 0x010f, cfaPattern: 0x828e, dngVersion: 0xc612 } as const;

/** PhotometricInterpretation: colour filter array (TIFF/EP) and linear raw (DNG 1.1). */
const RAW_PHOTOMETRIC = new Set([32803, 34892]);

/** Compression schemes that only raw files use (registered or in common use; from memory). */
const RAW_COMPRESSION = new Set([262, 32767, 32769, 32770, 34713, 65000, 65535]);

/** First word of Make, lower case -> the family that its TIFF-based raw files form. */
const FAMILY_BY_MAKE: ReadonlyMap<string, string> = new Map([
  ['nikon', 'nef'],
  ['canon', 'cr2'],
  ['sony', 'arw'],
  ['pentax', 'pef'],
  ['ricoh', 'pef'],
  ['asahi', 'pef'],
  ['olympus', 'orf'],
  ['om', 'orf'],
  ['panasonic', 'rw2'],
  ['leica', 'rwl'],
  ['hasselblad', '3fr'],
  ['phase', 'iiq'],
  ['leaf', 'mos'],
  ['mamiya', 'mef'],
  ['samsung', 'srw'],
  ['seiko', 'erf'],
  ['epson', 'erf'],
  ['kodak', 'dcr'],
  ['eastman', 'dcr'],
  ['fujifilm', 'raf'],
]);

/**
 * Which family of raw files a TIFF-like structure belongs to, by its content: maker's own magic numbers,
 * a DNG version, a colour-filter-array image or a compression only raws use. Null for plain TIFF pictures.
 * `tiff-raw` when it is raw but the maker is not known.
 */
export function tiffRawFamily(bytes: Uint8Array): string | null {
  const tiff = TiffStructure.open(bytes);
  if (tiff === null) return null;
  const marker = markerFamily(bytes, tiff);
  if (marker !== null) return marker;
  if (tiff.magic !== 42) return null;

  const directories = tiffImageDirectories(tiff);
  if (directories.some((directory) => directory.entries.has(TAG.dngVersion))) return 'dng';
  if (!directories.some((directory) => holdsSensorData(tiff, directory))) return null;
  const make = directories.map((directory) => tiff.text(directory.entries.get(TAG.make))).find((text) => text !== null);
  const firstWord = (make ?? '').toLowerCase().split(/[\s,.]+/)[0] ?? '';
  return FAMILY_BY_MAKE.get(firstWord) ?? 'tiff-raw';
}

function markerFamily(bytes: Uint8Array, tiff: TiffStructure): string | null {
  if (tiff.magic === 0x0055 && bytes[0] === 0x49) return 'rw2';
  if (tiff.magic === 0x4f52 || tiff.magic === 0x5352) return 'orf';
  if (tiff.magic !== 42) return null;
  if (bytes[8] === 0x43 && bytes[9] === 0x52) return 'cr2';
  const byteOrder = bytes[0];
  if (bytes.length >= 12 && [8, 9, 10, 11].every((at) => bytes[at] === byteOrder)) return 'iiq';
  return null;
}

function holdsSensorData(tiff: TiffStructure, directory: TiffDirectory): boolean {
  const photometric = tiff.integers(directory.entries.get(TAG.photometric))[0];
  const compression = tiff.integers(directory.entries.get(TAG.compression))[0];
  return (
    (photometric !== undefined && RAW_PHOTOMETRIC.has(photometric)) ||
    (compression !== undefined && RAW_COMPRESSION.has(compression)) ||
    directory.entries.has(TAG.cfaPattern)
  );
}
