/** A part of a file that says its own length: a segment, a chunk, a box, an entry of a directory. */
export interface FilePart {
  start: number;
  end: number;
  /** Where its length (or count) stands, and of how many bytes it is. */
  lengthAt: number;
  lengthBytes: 2 | 4;
  littleEndian: boolean;
}

/** Boxes of ISO base media files that hold others, with the bytes between their own head and the first of them. */
const PARENT_BOXES = new Map([
  ['meta', 4],
  ['iprp', 0],
  ['ipco', 0],
  ['iinf', 6],
]);

/**
 * The parts of a whole file, in order; none for formats that have none. JPEG segments (a scan with its data is one part),
 * PNG and RIFF chunks, ISO boxes with what lies in them, TIFF directory entries of the first directories.
 */
export function partsOf(bytes: Buffer): FilePart[] {
  const mark = bytes.toString('latin1', 0, 4);
  if (bytes.readUInt16BE(0) === 0xffd8) return jpegSegments(bytes);
  if (mark === '\x89PNG') return chunks(bytes, 8, bytes.length, { littleEndian: false, besidesBytes: 12, lengthAt: 0 });
  if (mark === 'RIFF') return chunks(bytes, 12, bytes.length, { littleEndian: true, besidesBytes: 8, lengthAt: 4 });
  if (bytes.toString('latin1', 4, 8) === 'ftyp') return boxes(bytes, 0, bytes.length);
  if (mark.startsWith('II') || mark.startsWith('MM')) return directoryEntries(bytes);
  return [];
}

function jpegSegments(bytes: Buffer): FilePart[] {
  const parts: FilePart[] = [];
  for (let at = 2; at + 4 <= bytes.length && bytes[at] === 0xff && bytes[at + 1] !== 0xd9;) {
    let end = at + 2 + bytes.readUInt16BE(at + 2);
    // After a scan's head: its data, up to the next mark that is neither a stuffed byte nor a restart.
    const isMark = (i: number): boolean => {
      const next = bytes[i + 1] ?? 0xd9;
      return bytes[i] === 0xff && next !== 0 && (next < 0xd0 || next > 0xd7);
    };
    if (bytes[at + 1] === 0xda) while (end < bytes.length && !isMark(end)) end += 1;
    parts.push({ start: at, end: Math.min(end, bytes.length), lengthAt: at + 2, lengthBytes: 2, littleEndian: false });
    at = end;
  }
  return parts;
}

function chunks(
  bytes: Buffer,
  from: number,
  to: number,
  of: { littleEndian: boolean; besidesBytes: number; lengthAt: number },
): FilePart[] {
  const parts: FilePart[] = [];
  for (let at = from; at + 8 <= to;) {
    const length = of.littleEndian ? bytes.readUInt32LE(at + of.lengthAt) : bytes.readUInt32BE(at + of.lengthAt);
    const end = at + of.besidesBytes + length + (of.littleEndian ? length % 2 : 0);
    if (end > to) break;
    parts.push({ start: at, end, lengthAt: at + of.lengthAt, lengthBytes: 4, littleEndian: of.littleEndian });
    at = end;
  }
  return parts;
}

function boxes(bytes: Buffer, from: number, to: number): FilePart[] {
  const parts: FilePart[] = [];
  for (let at = from; at + 8 <= to;) {
    const end = at + bytes.readUInt32BE(at);
    if (end < at + 8 || end > to) break;
    parts.push({ start: at, end, lengthAt: at, lengthBytes: 4, littleEndian: false });
    const inside = PARENT_BOXES.get(bytes.toString('latin1', at + 4, at + 8));
    if (inside !== undefined) parts.push(...boxes(bytes, at + 8 + inside, end));
    at = end;
  }
  return parts;
}

function directoryEntries(bytes: Buffer): FilePart[] {
  const littleEndian = bytes[0] === 0x49;
  const u16 = (at: number): number => (littleEndian ? bytes.readUInt16LE(at) : bytes.readUInt16BE(at));
  const u32 = (at: number): number => (littleEndian ? bytes.readUInt32LE(at) : bytes.readUInt32BE(at));
  const parts: FilePart[] = [];
  let directory = u32(4);
  for (let seen = 0; seen < 8 && directory >= 8 && directory + 2 <= bytes.length; seen += 1) {
    const entries = u16(directory);
    const next = directory + 2 + entries * 12;
    if (next + 4 > bytes.length) break;
    for (let at = directory + 2; at < next; at += 12)
      parts.push({ start: at, end: at + 12, lengthAt: at + 4, lengthBytes: 4, littleEndian });
    directory = u32(next);
  }
  return parts;
}
