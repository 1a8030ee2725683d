/** One entry of a TIFF image file directory, its values not read yet. */
export interface TiffEntry {
  tag: number;
  type: number;
  count: number;
  /** Where the values lie, from the start of the TIFF structure. */
  valueOffset: number;
  /** Where the entry itself lies: 12 bytes. */
  entryOffset: number;
}

export interface TiffDirectory {
  offset: number;
  /** Entries that it says to have; more than `entries` where some are out of bounds or there twice. */
  declared: number;
  entries: ReadonlyMap<number, TiffEntry>;
  /** Offset of the next directory in the chain; 0 at its end. */
  nextOffset: number;
}

/** Bytes of one value by field type 1..13 (TIFF 6.0, section 2 "Types"; 13 is IFD, supplement 1). */
const TYPE_SIZE_BYTES = [0, 1, 1, 2, 4, 8, 1, 1, 2, 4, 8, 4, 8, 4] as const;

const MAX_ENTRIES = 4096;
const MAX_TEXT_BYTES = 4096;
const MAX_NUMBERS = 4096;

/**
 * Reads directories of a TIFF structure (TIFF 6.0, section 2) inside bytes that nobody vouches for:
 * every offset is checked, nothing is followed by itself, and nothing throws; what is out of bounds is
 * `null` or left out.
 */
export class TiffStructure {
  private constructor(
    private readonly view: DataView,
    private readonly littleEndian: boolean,
    /** The number after the byte order: 42 for TIFF; makers of raw files use others. */
    readonly magic: number,
    readonly firstDirectoryOffset: number,
  ) {}

  /** Null unless the bytes begin with a byte order mark and a header's worth of bytes. The magic is not judged. */
  static open(bytes: Uint8Array): TiffStructure | null {
    if (bytes.length < 8) return null;
    const first = bytes[0];
    if (first !== bytes[1] || (first !== 0x49 && first !== 0x4d)) return null;
    const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
    const littleEndian = first === 0x49;
    return new TiffStructure(view, littleEndian, view.getUint16(2, littleEndian), view.getUint32(4, littleEndian));
  }

  /** The directory at an offset, with the entries that lie inside the bytes; null when none can be there. */
  directoryAt(offset: number): TiffDirectory | null {
    if (offset < 8 || offset + 2 > this.view.byteLength) return null;
    const declared = this.view.getUint16(offset, this.littleEndian);
    if (declared === 0 || declared > MAX_ENTRIES) return null;
    const entries = new Map<number, TiffEntry>();
    for (let index = 0; index < declared; index += 1) {
      const at = offset + 2 + index * 12;
      if (at + 12 > this.view.byteLength) break;
      const entry = this.entryAt(at);
      if (entry !== null && !entries.has(entry.tag)) entries.set(entry.tag, entry);
    }
    const nextAt = offset + 2 + declared * 12;
    const nextOffset = nextAt + 4 <= this.view.byteLength ? this.view.getUint32(nextAt, this.littleEndian) : 0;
    return { offset, declared, entries, nextOffset };
  }

  /** Unsigned integers of an entry of BYTE, SHORT, LONG or IFD type; empty for other types. */
  integers(entry: TiffEntry | undefined): number[] {
    if (entry === undefined || entry.count > MAX_NUMBERS) return [];
    const values: number[] = [];
    for (let index = 0; index < entry.count; index += 1) {
      if (entry.type === 1 || entry.type === 7) values.push(this.view.getUint8(entry.valueOffset + index));
      else if (entry.type === 3) values.push(this.view.getUint16(entry.valueOffset + index * 2, this.littleEndian));
      else if (entry.type === 4 || entry.type === 13)
        values.push(this.view.getUint32(entry.valueOffset + index * 4, this.littleEndian));
    }
    return values;
  }

  /** ASCII text up to the first NUL, blanks at the ends removed; null for other types or when empty. */
  text(entry: TiffEntry | undefined): string | null {
    if (entry === undefined || (entry.type !== 2 && entry.type !== 7)) return null;
    let text = '';
    for (let index = 0; index < Math.min(entry.count, MAX_TEXT_BYTES); index += 1) {
      const code = this.view.getUint8(entry.valueOffset + index);
      if (code === 0) break;
      text += String.fromCharCode(code);
    }
    return text.trim() === '' ? null : text.trim();
  }

  private entryAt(at: number): TiffEntry | null {
    const tag = this.view.getUint16(at, this.littleEndian);
    const type = this.view.getUint16(at + 2, this.littleEndian);
    const count = this.view.getUint32(at + 4, this.littleEndian);
    const sizeBytes = TYPE_SIZE_BYTES[type];
    if (sizeBytes === undefined || sizeBytes === 0 || count === 0) return null;
    const valueBytes = sizeBytes * count;
    const valueOffset = valueBytes <= 4 ? at + 8 : this.view.getUint32(at + 8, this.littleEndian);
    if (valueOffset + valueBytes > this.view.byteLength) return null;
    return { tag, type, count, valueOffset, entryOffset: at };
  }
}

/**
 * IFD0, its chain and all SubIFDs below it, each once, at most `limit` of them: enough to see what kind of
 * images a TIFF holds.
 */
export function tiffImageDirectories(tiff: TiffStructure, limit = 24): TiffDirectory[] {
  const SUB_IFDS = 0x014a;
  const seen = new Set<number>();
  const found: TiffDirectory[] = [];
  const waiting = [tiff.firstDirectoryOffset];
  while (waiting.length > 0 && found.length < limit) {
    const offset = waiting.shift() ?? 0;
    if (seen.has(offset)) continue;
    seen.add(offset);
    const directory = tiff.directoryAt(offset);
    if (directory === null) continue;
    found.push(directory);
    waiting.push(...tiff.integers(directory.entries.get(SUB_IFDS)).slice(0, limit));
    if (directory.nextOffset !== 0) waiting.push(directory.nextOffset);
  }
  return found;
}
