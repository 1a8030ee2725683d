import sharp from 'sharp';
import type { SniffedFormat } from './sniff-format.js';

/**
 * The parts of a file that hold Exif in a form the parser takes (a JPEG, PNG or TIFF structure), best first.
 * Offsets inside the file are not trusted.
 *
 * @throws Error with a plain reason when the file should hold such a part and it cannot be reached.
 */
export async function exifBlocks(bytes: Buffer, { format, rawFamily }: SniffedFormat): Promise<Buffer[]> {
  switch (format) {
    case 'jpeg':
    case 'tiff':
      return [bytes];
    case 'png':
      return pngExif(bytes);
    case 'gif':
      return [];
    case 'webp':
    case 'avif':
    case 'heif':
      return exifOfMetadata(bytes);
    case 'raw':
      return rawBlocks(bytes, rawFamily);
  }
}

function rawBlocks(bytes: Buffer, rawFamily: string | null): Buffer[] {
  switch (rawFamily) {
    case 'raf':
      return [rafJpeg(bytes)];
    case 'cr3':
      return cr3Directories(bytes);
    case 'mrw':
      return [mrwTiff(bytes)];
    case 'crw':
    case 'x3f':
      throw new Error(`${rawFamily} files do not keep it as Exif`);
    default:
      return [withTiffMagic(bytes)];
  }
}

/**
 * PNG: the eXIf chunk (third edition, clause 11.3.4.5), which is a TIFF structure. The parser is not shown the file itself: it would
 * inflate a profile that nobody asked for, whatever its size.
 */
function pngExif(bytes: Buffer): Buffer[] {
  for (let at = 8; at + 12 <= bytes.length;) {
    const start = at + 8;
    const end = start + bytes.readUInt32BE(at);
    if (end > bytes.length) return [];
    if (bytes.toString('latin1', at + 4, start) === 'eXIf') return [bytes.subarray(start, end)];
    at = end + 4;
  }
  return [];
}

/** WebP, AVIF and HEIF: the Exif item, whose first bytes may be an "Exif" mark before the TIFF structure. */
async function exifOfMetadata(bytes: Buffer): Promise<Buffer[]> {
  const { exif } = await sharp(bytes).metadata();
  if (exif === undefined) return [];
  for (const start of [0, 4, 6, 10]) {
    const mark = exif.toString('latin1', start, start + 4);
    if (mark === 'II*\0' || mark === 'MM\0*') return [exif.subarray(start)];
  }
  throw new Error('the Exif item does not begin with a TIFF structure');
}

/** RAF: a whole JPEG at the big-endian offset at byte 84, its length at byte 88 (from memory; no public standard). */
function rafJpeg(bytes: Buffer): Buffer {
  if (bytes.length < 92) throw new Error('the RAF header ends early');
  const offset = bytes.readUInt32BE(84);
  const jpeg = bytes.subarray(offset, offset + bytes.readUInt32BE(88));
  if (jpeg.length < 4 || jpeg.readUInt16BE(0) !== 0xffd8) throw new Error('the RAF header points to no JPEG');
  return jpeg;
}

/** MRW: blocks of a four-byte name and a big-endian length from byte 8; TTW holds a TIFF structure (from memory). */
function mrwTiff(bytes: Buffer): Buffer {
  if (bytes.length < 8) throw new Error('the MRW header ends early');
  const end = Math.min(bytes.length, 8 + bytes.readUInt32BE(4));
  for (let at = 8; at + 8 <= end;) {
    const lengthBytes = bytes.readUInt32BE(at + 4);
    if (bytes.toString('latin1', at, at + 4) === '\0TTW') return bytes.subarray(at + 8, at + 8 + lengthBytes);
    at += 8 + lengthBytes;
  }
  throw new Error('the MRW header holds no TTW block');
}

const CR3_METADATA_UUID = '85c0b687820f11e08111f4ce462b6a48';

/**
 * CR3: TIFF structures in boxes CMT1 (IFD0) and CMT2 (the Exif directory, as a first directory of its own)
 * inside moov / uuid (from memory; no public standard).
 */
function cr3Directories(bytes: Buffer): Buffer[] {
  const found: Buffer[] = [];
  for (const movie of childBoxes(bytes, 0, bytes.length).filter(({ type }) => type === 'moov'))
    for (const uuid of childBoxes(bytes, movie.start, movie.end).filter(({ type }) => type === 'uuid')) {
      if (bytes.toString('hex', uuid.start, uuid.start + 16) !== CR3_METADATA_UUID) continue;
      for (const box of childBoxes(bytes, uuid.start + 16, uuid.end))
        if (box.type === 'CMT1' || box.type === 'CMT2') found.push(bytes.subarray(box.start, box.end));
    }
  if (found.length === 0) throw new Error('the CR3 file holds no metadata boxes');
  return found;
}

interface Box {
  type: string;
  start: number;
  end: number;
}

/** Boxes of an ISO base media file (ISO/IEC 14496-12, 4.2) between two offsets; stops at the first that does not fit. */
function childBoxes(bytes: Buffer, from: number, to: number): Box[] {
  const boxes: Box[] = [];
  let at = from;
  while (at + 8 <= to && boxes.length < 1024) {
    const size32 = bytes.readUInt32BE(at);
    const long = size32 === 1;
    if (long && at + 16 > to) break;
    const size = long ? Number(bytes.readBigUInt64BE(at + 8)) : size32 === 0 ? to - at : size32;
    const start = at + (long ? 16 : 8);
    if (at + size > to || at + size < start) break;
    boxes.push({ type: bytes.toString('latin1', at + 4, at + 8), start, end: at + size });
    at += size;
  }
  return boxes;
}

/** ORF and RW2 are TIFF but for their magic number; the parser wants 42 there. */
function withTiffMagic(bytes: Buffer): Buffer {
  const littleEndian = bytes[0] === 0x49;
  if ((littleEndian ? bytes.readUInt16LE(2) : bytes.readUInt16BE(2)) === 42) return bytes;
  const copy = Buffer.from(bytes);
  if (littleEndian) copy.writeUInt16LE(42, 2);
  else copy.writeUInt16BE(42, 2);
  return copy;
}
