/** A box of an ISO base media file. */
export interface Box {
  type: string;
  /** First byte of its content, after size and type. */
  start: number;
  /** One past its last byte. */
  end: number;
}

const MAX_BOXES = 4096;
const MAX_DEPTH = 6;

/** Boxes that hold boxes, and the bytes of their own that stand before these (ISO/IEC 14496-12, 23008-12; from memory). */
const CONTAINER_PREFIX_BYTES: ReadonlyMap<string, number> = new Map([
  ['meta', 4],
  ['iprp', 0],
  ['ipco', 0],
]);

/**
 * Top-level boxes of an ISO base media file (ISO/IEC 14496-12 clause 4.2, from memory). `missing` is a sentence
 * when a box says that it goes on beyond the end of the file. Reading stops at what cannot be a box.
 */
export function readBoxes(bytes: Buffer, start = 0, end = bytes.length): { boxes: Box[]; missing: string | null } {
  const boxes: Box[] = [];
  let at = start;
  while (at < end && boxes.length < MAX_BOXES) {
    if (at + 8 > end) return { boxes, missing: `a box is cut off at byte ${at} of ${end}` };
    const type = bytes.toString('latin1', at + 4, at + 8);
    // What cannot be a box is not one that was cut off: whatever follows is for the decoder to judge.
    if (!/^[\x20-\x7e]{4}$/.test(type)) return { boxes, missing: null };
    const size32 = bytes.readUInt32BE(at);
    let headerBytes = 8;
    let sizeBytes = size32;
    if (size32 === 0) sizeBytes = end - at;
    else if (size32 === 1) {
      if (at + 16 > end) return { boxes, missing: `a box is cut off at byte ${at} of ${end}` };
      headerBytes = 16;
      sizeBytes = Number(bytes.readBigUInt64BE(at + 8));
    }
    if (sizeBytes < headerBytes) return { boxes, missing: null };
    if (at + sizeBytes > end)
      return { boxes, missing: `box ${JSON.stringify(type)} needs bytes up to ${at + sizeBytes}, there are ${end}` };
    boxes.push({ type, start: at + headerBytes, end: at + sizeBytes });
    at += sizeBytes;
  }
  return { boxes, missing: null };
}

/** Every box of one type at any depth under `meta`, in file order. */
export function findBoxes(bytes: Buffer, type: string): Box[] {
  const found: Box[] = [];
  const visit = (start: number, end: number, depth: number): void => {
    if (depth > MAX_DEPTH) return;
    for (const box of readBoxes(bytes, start, end).boxes) {
      if (box.type === type) found.push(box);
      const prefixBytes = CONTAINER_PREFIX_BYTES.get(box.type);
      if (prefixBytes !== undefined) visit(box.start + prefixBytes, box.end, depth + 1);
    }
  };
  visit(0, bytes.length, 0);
  return found;
}

/** What an AVIF or HEIF announces that the bytes do not hold, as a sentence; null when nothing. */
export function missingFromBoxes(bytes: Buffer): string | null {
  const { boxes, missing } = readBoxes(bytes);
  if (missing !== null) return missing;
  const meta = boxes.find((box) => box.type === 'meta');
  if (meta === undefined) return `no meta box within ${bytes.length} bytes`;
  return null;
}

/** Widths and heights that the `ispe` properties announce (ISO/IEC 23008-12 clause 6.5.3, from memory). */
export function announcedSizesPx(bytes: Buffer): { widthPx: number; heightPx: number }[] {
  return findBoxes(bytes, 'ispe')
    .filter((box) => box.end - box.start >= 12)
    .map((box) => ({ widthPx: bytes.readUInt32BE(box.start + 4), heightPx: bytes.readUInt32BE(box.start + 8) }));
}

/** Code points of ITU-T H.273 that a file gives instead of, or beside, a profile. */
export interface CodedColour {
  primaries: number;
  transfer: number;
}

/** The first `colr` property of type `nclx` (ISO/IEC 14496-12 clause 12.1.5, from memory), or null. */
export function announcedCodedColour(bytes: Buffer): CodedColour | null {
  for (const box of findBoxes(bytes, 'colr')) {
    if (box.end - box.start < 10 || bytes.toString('latin1', box.start, box.start + 4) !== 'nclx') continue;
    return { primaries: bytes.readUInt16BE(box.start + 4), transfer: bytes.readUInt16BE(box.start + 6) };
  }
  return null;
}
