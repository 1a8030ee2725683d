import { readBoxes } from './box-file.js';
import { missingFromTiff, readTiffImages } from './tiff-extents.js';

/**
 * What a raw file announces that its bytes do not hold, as a sentence; null when all is there. LibRaw fills what
 * is missing with black and says nothing, so this is checked before. Layouts of the makers' own containers are
 * from memory and from their common descriptions; there is no public standard for them.
 */
export function missingFromRaw(bytes: Buffer, family: string | null): string | null {
  switch (family) {
    case 'cr3':
      return readBoxes(bytes).missing;
    case 'raf':
      return missingFromRaf(bytes);
    case 'mrw':
      return missingFromMrw(bytes);
    case 'crw':
      return missingFromCrw(bytes);
    case 'x3f':
      return missingFromX3f(bytes);
    case 'dng':
      // Levels, white balance and matrix are values of entries: what lies outside would be left out without a word.
      return missingFromTiff(bytes, 'anything') ?? missingMosaic(bytes);
    default:
      return missingFromTiff(bytes, 'all-images') ?? missingMosaic(bytes) ?? missingByOwnTags(bytes, family);
  }
}

/** Colour filter array, TIFF/EP (ISO 12234-2). */
const CFA_PHOTOMETRIC = 32_803;
const UNCOMPRESSED = 1;

/** Compressions that spend at least one bit on each sample: lossless JPEG and makers' own Huffman or fixed codes. */
const ONE_BIT_OR_MORE = new Set([7, 34_713, 32_767, 32_769, 32_770, 65_535]);

/** A mosaic needs width x height x bits (compressed: at least one bit each), whatever its strip lengths claim. */
function missingMosaic(bytes: Buffer): string | null {
  for (const image of readTiffImages(bytes).images) {
    if (image.photometric !== CFA_PHOTOMETRIC) continue;
    if (image.compression !== UNCOMPRESSED && !ONE_BIT_OR_MORE.has(image.compression)) continue;
    const bitsPerPixel = image.compression === UNCOMPRESSED ? image.bitsPerSample * image.samplesPerPixel : 1;
    const neededBytes = Math.floor((image.widthPx * image.heightPx * bitsPerPixel) / 8);
    const announcedBytes = image.extents.reduce((sum, extent) => sum + extent.lengthBytes, 0);
    if (announcedBytes < neededBytes)
      return `the mosaic of ${image.widthPx} x ${image.heightPx} needs at least ${neededBytes} bytes, ${announcedBytes} are announced`;
  }
  return null;
}

/** No camera's compression comes near this; a file below holds no whole mosaic, whatever it announces. */
const LEAST_BITS_PER_PIXEL = 1 / 16;

/** What cannot be in so few bytes, as a sentence; null when it can. For raws of every maker, announced or not. */
export function missingForSize(bytes: Buffer, rawWidthPx: number, rawHeightPx: number): string | null {
  const neededBytes = Math.floor((rawWidthPx * rawHeightPx * LEAST_BITS_PER_PIXEL) / 8);
  if (bytes.length >= neededBytes) return null;
  return `a mosaic of ${rawWidthPx} x ${rawHeightPx} needs at least ${neededBytes} bytes, the file has ${bytes.length}`;
}

/** RW2 keeps the place of the mosaic in tag 0x118; IIQ in a directory of its own at byte 8. */
function missingByOwnTags(bytes: Buffer, family: string | null): string | null {
  const RW2_RAW_DATA_OFFSET = 0x118;
  const STRIP_BYTE_COUNTS = 279;
  if (family === 'rw2' || family === 'rwl') {
    const offset = firstDirectoryNumber(bytes, RW2_RAW_DATA_OFFSET);
    const lengthBytes = firstDirectoryNumber(bytes, STRIP_BYTE_COUNTS);
    if (offset !== null && lengthBytes === null) return 'the file does not say how long its mosaic is';
    if (offset !== null && lengthBytes !== null) return beyondEnd(bytes, offset, lengthBytes, 'the mosaic');
  }
  if (family === 'iiq') return missingFromIiq(bytes);
  return null;
}

function firstDirectoryNumber(bytes: Buffer, tag: number): number | null {
  if (bytes.length < 10) return null;
  const little = bytes[0] === 0x49;
  const u16 = (at: number): number => (little ? bytes.readUInt16LE(at) : bytes.readUInt16BE(at));
  const u32 = (at: number): number => (little ? bytes.readUInt32LE(at) : bytes.readUInt32BE(at));
  const start = u32(4);
  if (start + 2 > bytes.length) return null;
  for (let at = start + 2; at + 12 <= bytes.length && at < start + 2 + u16(start) * 12; at += 12)
    if (u16(at) === tag) return u32(at + 8);
  return null;
}

function missingFromIiq(bytes: Buffer): string | null {
  const BASE = 8;
  const RAW_DATA = 0x10f;
  if (bytes.length < BASE + 12) return 'the raw directory is cut off';
  const little = bytes[BASE] === 0x49;
  const u32 = (at: number): number => (little ? bytes.readUInt32LE(at) : bytes.readUInt32BE(at));
  const directory = BASE + u32(BASE + 8);
  if (directory + 8 > bytes.length)
    return `the raw directory is announced at byte ${directory}, the file has ${bytes.length}`;
  const count = Math.min(u32(directory), 4096);
  for (let index = 0; index < count; index += 1) {
    const at = directory + 8 + index * 16;
    if (at + 16 > bytes.length) return 'the raw directory is cut off';
    if (u32(at) === RAW_DATA) return beyondEnd(bytes, BASE + u32(at + 12), u32(at + 8), 'the mosaic');
  }
  return null;
}

/** RAF: big-endian offset and length of the JPEG (byte 84), the header block (92) and the mosaic (100). */
function missingFromRaf(bytes: Buffer): string | null {
  if (bytes.length < 108) return `a RAF header needs 108 bytes, the file has ${bytes.length}`;
  const part = (at: number, what: string): string | null =>
    beyondEnd(bytes, bytes.readUInt32BE(at), bytes.readUInt32BE(at + 4), what);
  return part(84, 'the embedded JPEG') ?? part(92, 'the header block') ?? part(100, 'the mosaic');
}

/** MRW: blocks up to 8 + length; PRD gives the sensor's size; 12-bit codes, packed or not, follow the blocks. */
function missingFromMrw(bytes: Buffer): string | null {
  if (bytes.length < 8) return `an MRW header needs 8 bytes, the file has ${bytes.length}`;
  const dataStart = 8 + bytes.readUInt32BE(4);
  for (let at = 8; at + 20 <= Math.min(bytes.length, dataStart); at += 8 + bytes.readUInt32BE(at + 4)) {
    if (bytes.toString('latin1', at, at + 4) !== '\0PRD') continue;
    const sensorPixels = bytes.readUInt16BE(at + 16) * bytes.readUInt16BE(at + 18);
    return beyondEnd(bytes, dataStart, Math.floor(sensorPixels * 1.5), 'the mosaic');
  }
  return beyondEnd(bytes, dataStart, 1, 'the mosaic');
}

/** CRW (CIFF): the last four bytes give the root directory's place, which ends where they begin. */
function missingFromCrw(bytes: Buffer): string | null {
  const cut = `no root directory at the end of ${bytes.length} bytes`;
  if (bytes.length < 20) return cut;
  const little = bytes[0] === 0x49;
  const u16 = (at: number): number => (little ? bytes.readUInt16LE(at) : bytes.readUInt16BE(at));
  const u32 = (at: number): number => (little ? bytes.readUInt32LE(at) : bytes.readUInt32BE(at));
  const heapStart = u32(2);
  const directory = heapStart + u32(bytes.length - 4);
  if (directory + 2 > bytes.length - 4) return cut;
  const entries = u16(directory);
  if (entries === 0 || directory + 2 + entries * 10 > bytes.length - 4) return cut;
  for (let index = 0; index < entries; index += 1) {
    const at = directory + 2 + index * 10;
    const storedInEntry = (u16(at) & 0xc000) !== 0;
    const missing = storedInEntry ? null : beyondEnd(bytes, heapStart + u32(at + 6), u32(at + 2), 'a record');
    if (missing !== null) return missing;
  }
  return null;
}

/** X3F: the last four bytes give the place of the directory, which begins with SECd. */
function missingFromX3f(bytes: Buffer): string | null {
  const cut = `no directory at the end of ${bytes.length} bytes`;
  if (bytes.length < 12) return cut;
  const directory = bytes.readUInt32LE(bytes.length - 4);
  if (directory + 12 > bytes.length || bytes.toString('latin1', directory, directory + 4) !== 'SECd') return cut;
  const entries = Math.min(bytes.readUInt32LE(directory + 8), 4096);
  for (let index = 0; index < entries; index += 1) {
    const at = directory + 12 + index * 12;
    if (at + 12 > bytes.length) return cut;
    const missing = beyondEnd(bytes, bytes.readUInt32LE(at), bytes.readUInt32LE(at + 4), 'a section');
    if (missing !== null) return missing;
  }
  return null;
}

function beyondEnd(bytes: Buffer, offset: number, lengthBytes: number, what: string): string | null {
  if (offset + lengthBytes <= bytes.length) return null;
  return `${what} is announced up to byte ${offset + lengthBytes}, the file has ${bytes.length}`;
}
