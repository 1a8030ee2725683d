import { StopledgerError } from '../../src/errors.js';

/** One image (or embedded JPEG) that a TIFF directory announces. */
export interface TiffImage {
  widthPx: number;
  heightPx: number;
  bitsPerSample: number;
  samplesPerPixel: number;
  compression: number;
  photometric: number;
  /** NewSubfileType bit 0: a reduced copy of another image. */
  isReduced: boolean;
  /** Where its strips, tiles or JPEG stream lie. */
  extents: { offset: number; lengthBytes: number }[];
}

export interface TiffContent {
  images: TiffImage[];
  /** The first directory or list of offsets that lies beyond the end of the file, as a sentence. */
  missing: string | null;
  /** The first value of any kind that does. */
  missingValue: string | null;
}

interface Entry {
  type: number;
  count: number;
  valueOffset: number;
}

const TAG = {
  newSubfileType: 254,
  imageWidth: 256,
  imageLength: 257,
  bitsPerSample: 258,
  compression: 259,
  photometric: 262,
  stripOffsets: 273,
  samplesPerPixel: 277,
  stripByteCounts: 279,
  tileOffsets: 324,
  tileByteCounts: 325,
  subIfds: 330,
  jpegOffset: 513,
  jpegLength: 514,
} as const;

const INTEGER_SIZE_BYTES: ReadonlyMap<number, number> = new Map([
  [1, 1],
  [3, 2],
  [4, 4],
  [13, 4],
]);
/** Bytes of one value by field type 1..13, TIFF 6.0 section 2. */
const VALUE_SIZE_BYTES = [0, 1, 1, 2, 4, 8, 1, 1, 2, 4, 8, 4, 8, 4] as const;
const MAX_DIRECTORIES = 64;
const MAX_ENTRIES = 2048;
/** Numbers read of all directories of a file together; one strip a row of a large picture gives some 20,000. */
const MAX_NUMBERS = 1_000_000;
/** "Not here": written by makers that keep the raw data's place in a tag of their own. */
const NO_OFFSET = 0xffff_ffff;

/**
 * Images announced by the directories of a TIFF-like file: IFD0, its chain and all SubIFDs (TIFF 6.0 sections 2,
 * 3 and 15; TIFF technical note 1; from memory). Files with other magic numbers (several makers' raws) are read
 * alike; BigTIFF gives none.
 *
 * @throws StopledgerError `frame-corrupt` when the directories list a million numbers: millions of strips that are all the same
 *   few bytes would take gigabytes
 */
export function readTiffImages(bytes: Buffer): TiffContent {
  const reader = new DirectoryReader(bytes);
  const images: TiffImage[] = [];
  const waiting = [reader.firstDirectory()];
  const seen = new Set<number>();
  while (waiting.length > 0 && seen.size < MAX_DIRECTORIES) {
    const offset = waiting.shift() ?? 0;
    if (offset === 0 || seen.has(offset)) continue;
    seen.add(offset);
    const directory = reader.directory(offset);
    if (directory === null) continue;
    const image = reader.image(directory.entries);
    if (image !== null) images.push(image);
    waiting.push(...reader.integers(directory.entries.get(TAG.subIfds)).slice(0, MAX_DIRECTORIES), directory.next);
  }
  return { images, missing: reader.missing, missingValue: reader.missingValue };
}

/**
 * The first part of a TIFF that lies beyond the end of the file, as a sentence, or null. `first-image` looks at
 * the first directory's image only: what a reader of ordinary TIFF pictures decodes. `anything` counts values that
 * need not matter too.
 */
export function missingFromTiff(bytes: Buffer, scope: 'first-image' | 'all-images' | 'anything'): string | null {
  const { images, missing, missingValue } = readTiffImages(bytes);
  if (missing !== null && (scope !== 'first-image' || images.length === 0)) return missing;
  if (missingValue !== null && scope === 'anything') return missingValue;
  const judged = scope === 'first-image' ? images.slice(0, 1) : images;
  for (const image of judged) {
    for (const { offset, lengthBytes } of image.extents) {
      if (offset + lengthBytes > bytes.length)
        return `image data is announced up to byte ${offset + lengthBytes}, the file has ${bytes.length}`;
    }
  }
  return null;
}

class DirectoryReader {
  /** Set when a directory, or a list of numbers that was asked for, lies outside the file. */
  missing: string | null = null;
  /** Set when a value of any directory entry does: it need not matter for the image. */
  missingValue: string | null = null;
  private numbersLeft = MAX_NUMBERS;
  private readonly view: DataView;
  private readonly littleEndian: boolean;

  constructor(private readonly bytes: Buffer) {
    this.view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
    this.littleEndian = bytes[0] === 0x49;
  }

  firstDirectory(): number {
    if (this.bytes.length < 8) {
      this.missing = `a TIFF header needs 8 bytes, the file has ${this.bytes.length}`;
      return 0;
    }
    const BIG_TIFF = 43;
    return this.view.getUint16(2, this.littleEndian) === BIG_TIFF ? 0 : this.view.getUint32(4, this.littleEndian);
  }

  directory(offset: number): { entries: Map<number, Entry>; next: number } | null {
    if (!this.within(offset, 2, 'a directory')) return null;
    const declared = this.view.getUint16(offset, this.littleEndian);
    if (declared === 0 || declared > MAX_ENTRIES || !this.within(offset + 2, declared * 12, 'a directory')) return null;
    const entries = new Map<number, Entry>();
    for (let index = 0; index < declared; index += 1) {
      const at = offset + 2 + index * 12;
      const type = this.view.getUint16(at + 2, this.littleEndian);
      const count = this.view.getUint32(at + 4, this.littleEndian);
      const sizeBytes = (VALUE_SIZE_BYTES[type] ?? 0) * count;
      const valueOffset = sizeBytes <= 4 ? at + 8 : this.view.getUint32(at + 8, this.littleEndian);
      if (valueOffset + sizeBytes > this.bytes.length)
        this.missingValue ??= `a value is announced up to byte ${valueOffset + sizeBytes}, the file has ${this.bytes.length}`;
      entries.set(this.view.getUint16(at, this.littleEndian), { type, count, valueOffset });
    }
    const nextAt = offset + 2 + declared * 12;
    const hasNext = this.within(nextAt, 4, "a directory's end");
    return { entries, next: hasNext ? this.view.getUint32(nextAt, this.littleEndian) : 0 };
  }

  integers(entry: Entry | undefined): number[] {
    const sizeBytes = entry === undefined ? undefined : INTEGER_SIZE_BYTES.get(entry.type);
    if (entry === undefined || sizeBytes === undefined) return [];
    if (!this.within(entry.valueOffset, entry.count * sizeBytes, 'a list of numbers')) return [];
    this.numbersLeft -= entry.count;
    if (this.numbersLeft < 0)
      throw new StopledgerError('frame-corrupt', `The file's directories list more than ${MAX_NUMBERS} numbers`);
    const values = new Array<number>(entry.count);
    for (let index = 0; index < entry.count; index += 1) {
      const at = entry.valueOffset + index * sizeBytes;
      if (sizeBytes === 1) values[index] = this.view.getUint8(at);
      else if (sizeBytes === 2) values[index] = this.view.getUint16(at, this.littleEndian);
      else values[index] = this.view.getUint32(at, this.littleEndian);
    }
    return values;
  }

  image(entries: ReadonlyMap<number, Entry>): TiffImage | null {
    const first = (tag: number, otherwise: number): number => this.integers(entries.get(tag))[0] ?? otherwise;
    const extents = [
      ...this.extents(entries, TAG.stripOffsets, TAG.stripByteCounts),
      ...this.extents(entries, TAG.tileOffsets, TAG.tileByteCounts),
      ...this.extents(entries, TAG.jpegOffset, TAG.jpegLength),
    ];
    const [widthPx, heightPx] = [first(TAG.imageWidth, 0), first(TAG.imageLength, 0)];
    if (extents.length === 0 && widthPx === 0) return null;
    return {
      widthPx,
      heightPx,
      bitsPerSample: first(TAG.bitsPerSample, 1),
      samplesPerPixel: first(TAG.samplesPerPixel, 1),
      compression: first(TAG.compression, 1),
      photometric: first(TAG.photometric, 0),
      isReduced: (first(TAG.newSubfileType, 0) & 1) === 1,
      extents,
    };
  }

  private extents(entries: ReadonlyMap<number, Entry>, offsetTag: number, lengthTag: number): TiffImage['extents'] {
    const offsets = this.integers(entries.get(offsetTag));
    const lengths = this.integers(entries.get(lengthTag));
    return offsets
      .map((offset, index) => ({ offset, lengthBytes: lengths[index] ?? 0 }))
      .filter(({ offset }) => offset !== 0 && offset !== NO_OFFSET);
  }

  private within(offset: number, lengthBytes: number, what: string): boolean {
    if (offset + lengthBytes <= this.bytes.length) return true;
    this.missing ??= `${what} is announced at byte ${offset}, the file has ${this.bytes.length}`;
    return false;
  }
}
