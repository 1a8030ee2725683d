import { readBoxes } from './box-file.js';

const MAX_ITEMS = 65_536;
const MAX_EXTENTS = 65_536;

/**
 * The first part that the item location box of an AVIF or HEIF file places beyond its end, as a sentence; null when
 * none (or when the box cannot be read: the decoder will then refuse the file). ISO/IEC 14496-12 clause 8.11.3,
 * from memory. Only extents counted from the start of the file are judged (construction method 0).
 */
export function missingFromItemLocations(bytes: Buffer): string | null {
  const meta = readBoxes(bytes).boxes.find((box) => box.type === 'meta');
  if (meta === undefined || meta.end - meta.start < 4) return null;
  const iloc = readBoxes(bytes, meta.start + 4, meta.end).boxes.find((box) => box.type === 'iloc');
  if (iloc === undefined) return null;
  const reader = new FieldReader(bytes, iloc.start, iloc.end);
  const version = reader.unsigned(1);
  reader.unsigned(3);
  const [sizes, more] = [reader.unsigned(1), reader.unsigned(1)];
  const [offsetBytes, lengthBytes, baseBytes, indexBytes] = [sizes >> 4, sizes & 15, more >> 4, more & 15];
  const items = Math.min(reader.unsigned(version < 2 ? 2 : 4), MAX_ITEMS);
  let extentsRead = 0;
  for (let item = 0; item < items && !reader.exhausted; item += 1) {
    reader.unsigned(version < 2 ? 2 : 4);
    const constructionMethod = version === 0 ? 0 : reader.unsigned(2) & 15;
    reader.unsigned(2);
    const base = reader.unsigned(baseBytes);
    const extents = reader.unsigned(2);
    for (let extent = 0; extent < extents && !reader.exhausted && extentsRead < MAX_EXTENTS; extent += 1) {
      extentsRead += 1;
      if (version > 0) reader.unsigned(indexBytes);
      const offset = reader.unsigned(offsetBytes);
      const end = base + offset + reader.unsigned(lengthBytes);
      if (constructionMethod === 0 && !reader.exhausted && end > bytes.length)
        return `image data is announced up to byte ${end}, the file has ${bytes.length}`;
    }
  }
  return null;
}

/** Big-endian unsigned fields one after another; gives 0 and says so once the end is passed. */
class FieldReader {
  exhausted = false;

  constructor(
    private readonly bytes: Buffer,
    private at: number,
    private readonly end: number,
  ) {}

  unsigned(sizeBytes: number): number {
    if (this.at + sizeBytes > this.end) {
      this.exhausted = true;
      return 0;
    }
    let value = 0;
    for (let index = 0; index < sizeBytes; index += 1) value = value * 256 + this.bytes.readUInt8(this.at + index);
    this.at += sizeBytes;
    return value;
  }
}
