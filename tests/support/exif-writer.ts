import { deflateSync } from 'node:zlib';

/** Writes small Exif-bearing files byte by byte, so that tests own every odd value in them. */
type Fraction = readonly [numerator: number, denominator: number];

export type TagValue =
  | { tag: number; type: 'ascii'; value: string }
  | { tag: number; type: 'byte' | 'short' | 'long'; value: readonly number[] }
  | { tag: number; type: 'rational'; value: readonly Fraction[] }
  | { tag: number; type: 'srational'; value: readonly Fraction[] };

export interface TiffContent {
  ifd0?: readonly TagValue[];
  exif?: readonly TagValue[];
  gps?: readonly TagValue[];
  /** Interoperability directory, pointed to from the Exif directory (which must be there). */
  interop?: readonly TagValue[];
  /** Directories that IFD0's SubIFDs tag points to. */
  subIfds?: readonly (readonly TagValue[])[];
  littleEndian?: boolean;
  magic?: number;
  /** Bytes between the header and the first directory. */
  afterHeader?: Buffer;
}

const TYPE_CODE = { byte: 1, ascii: 2, short: 3, long: 4, rational: 5, srational: 10 } as const;

export function writeTiff({
  ifd0 = [],
  exif: exifEntries,
  gps,
  interop,
  subIfds = [],
  littleEndian = true,
  magic = 42,
  afterHeader = Buffer.alloc(0),
}: TiffContent): Buffer {
  const u16 = (value: number) => {
    const bytes = Buffer.alloc(2);
    if (littleEndian) bytes.writeUInt16LE(value);
    else bytes.writeUInt16BE(value);
    return bytes;
  };
  const u32 = (value: number) => {
    const bytes = Buffer.alloc(4);
    if (littleEndian) bytes.writeUInt32LE(value >>> 0);
    else bytes.writeUInt32BE(value >>> 0);
    return bytes;
  };
  const payload = (entry: TagValue): { count: number; bytes: Buffer } => {
    if (entry.type === 'ascii') {
      const bytes = Buffer.from(`${entry.value}\0`, 'latin1');
      return { count: bytes.length, bytes };
    }
    if (entry.type === 'rational' || entry.type === 'srational')
      return { count: entry.value.length, bytes: Buffer.concat(entry.value.flatMap(([n, d]) => [u32(n), u32(d)])) };
    const one = entry.type === 'byte' ? (v: number) => Buffer.from([v]) : entry.type === 'short' ? u16 : u32;
    const values: readonly number[] = entry.value;
    return { count: values.length, bytes: Buffer.concat(values.map(one)) };
  };
  const directory = (entries: readonly TagValue[], at: number): Buffer => {
    const sorted = [...entries].sort((a, b) => a.tag - b.tag);
    let dataAt = at + 2 + sorted.length * 12 + 4;
    const records: Buffer[] = [];
    const data: Buffer[] = [];
    for (const entry of sorted) {
      const { count, bytes } = payload(entry);
      const inline = bytes.length <= 4;
      records.push(u16(entry.tag), u16(TYPE_CODE[entry.type]), u32(count));
      records.push(inline ? Buffer.concat([bytes, Buffer.alloc(4 - bytes.length)]) : u32(dataAt));
      if (!inline) {
        data.push(bytes);
        dataAt += bytes.length;
      }
    }
    return Buffer.concat([u16(sorted.length), ...records, u32(0), ...data]);
  };

  // The interoperability directory stands right behind the Exif directory: its place is known from a first try.
  const withInterop = (at: number) =>
    exifEntries && interop ? [...exifEntries, { tag: 0xa005, type: 'long', value: [at] } as const] : exifEntries;
  const exif = withInterop(0);

  const firstAt = 8 + afterHeader.length;
  const pointers = (exifAt: number, gpsAt: number, subAt: readonly number[]): TagValue[] => [
    ...ifd0,
    ...(exif ? [{ tag: 0x8769, type: 'long', value: [exifAt] } as const] : []),
    ...(gps ? [{ tag: 0x8825, type: 'long', value: [gpsAt] } as const] : []),
    ...(subAt.length > 0 ? [{ tag: 0x014a, type: 'long', value: subAt } as const] : []),
  ];
  const blank = pointers(
    0,
    0,
    subIfds.map(() => 0),
  );
  const exifAt = firstAt + directory(blank, firstAt).length;
  const exifOnlyBytes = exif ? directory(exif, exifAt).length : 0;
  const interopAt = exifAt + exifOnlyBytes;
  const exifBytes = exif
    ? Buffer.concat([
        directory(withInterop(interopAt) ?? [], exifAt),
        ...(interop ? [directory(interop, interopAt)] : []),
      ])
    : Buffer.alloc(0);
  const gpsAt = exifAt + exifBytes.length;
  const gpsBytes = gps ? directory(gps, gpsAt) : Buffer.alloc(0);
  const subBytes: Buffer[] = [];
  const subAt: number[] = [];
  let next = gpsAt + gpsBytes.length;
  for (const entries of subIfds) {
    subAt.push(next);
    subBytes.push(directory(entries, next));
    next += subBytes.at(-1)?.length ?? 0;
  }
  return Buffer.concat([
    Buffer.from(littleEndian ? 'II' : 'MM', 'latin1'),
    u16(magic),
    u32(firstAt),
    afterHeader,
    directory(pointers(exifAt, gpsAt, subAt), firstAt),
    exifBytes,
    gpsBytes,
    ...subBytes,
  ]);
}

/** A JPEG with an Exif segment and no picture. */
export function jpegWithExif(tiff: Buffer): Buffer {
  const body = Buffer.concat([Buffer.from('Exif\0\0', 'latin1'), tiff]);
  const length = Buffer.alloc(2);
  length.writeUInt16BE(body.length + 2);
  return Buffer.concat([Buffer.from([0xff, 0xd8, 0xff, 0xe1]), length, body, Buffer.from([0xff, 0xd9])]);
}

/** A one-pixel grey PNG with an eXIf chunk (PNG specification, third edition, 11.3.3.4). */
export function pngWithExif(tiff: Buffer): Buffer {
  const chunk = (type: string, data: Buffer) => {
    const typed = Buffer.concat([Buffer.from(type, 'latin1'), data]);
    const length = Buffer.alloc(4);
    length.writeUInt32BE(data.length);
    const crc = Buffer.alloc(4);
    crc.writeUInt32BE(crc32(typed));
    return Buffer.concat([length, typed, crc]);
  };
  const header = Buffer.from([0, 0, 0, 1, 0, 0, 0, 1, 8, 0, 0, 0, 0]);
  return Buffer.concat([
    Buffer.from([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a]),
    chunk('IHDR', header),
    chunk('eXIf', tiff),
    chunk('IDAT', deflateSync(Buffer.from([0, 128]))),
    chunk('IEND', Buffer.alloc(0)),
  ]);
}

/** Puts a TIFF structure as Exif segment into a whole JPEG that has none, right after its start. */
export function jpegWithExifInserted(jpeg: Buffer, tiff: Buffer): Buffer {
  const segment = jpegWithExif(tiff);
  return Buffer.concat([segment.subarray(0, segment.length - 2), jpeg.subarray(2)]);
}

/** The frame of a RAF file around a JPEG. */
export function rafAround(jpeg: Buffer): Buffer {
  const header = Buffer.alloc(160);
  header.write('FUJIFILMCCD-RAW 0201', 'latin1');
  header.writeUInt32BE(160, 84);
  header.writeUInt32BE(jpeg.length, 88);
  return Buffer.concat([header, jpeg]);
}

/** The frame of an MRW file around a TIFF structure, behind another block. */
export function mrwAround(tiff: Buffer): Buffer {
  const block = (name: string, data: Buffer) => {
    const length = Buffer.alloc(4);
    length.writeUInt32BE(data.length);
    return Buffer.concat([Buffer.from(name, 'latin1'), length, data]);
  };
  return block('\0MRM', Buffer.concat([block('\0PRD', Buffer.alloc(24)), block('\0TTW', tiff)]));
}

/** ISO base media box. */
export function box(type: string, ...content: Buffer[]): Buffer {
  const body = Buffer.concat(content);
  const size = Buffer.alloc(4);
  size.writeUInt32BE(body.length + 8);
  return Buffer.concat([size, Buffer.from(type, 'latin1'), body]);
}

/** The frame of a CR3 file: its two metadata boxes inside moov / uuid. */
export function cr3Around(ifd0: Buffer, exif: Buffer): Buffer {
  return Buffer.concat([
    box('ftyp', Buffer.from('crx \0\0\0\x01crx isom', 'latin1')),
    box(
      'moov',
      box('uuid', Buffer.from('85c0b687820f11e08111f4ce462b6a48', 'hex'), box('CMT1', ifd0), box('CMT2', exif)),
    ),
  ]);
}

function crc32(bytes: Buffer): number {
  let crc = 0xffffffff;
  for (const byte of bytes) {
    crc ^= byte;
    for (let bit = 0; bit < 8; bit += 1) crc = crc & 1 ? (crc >>> 1) ^ 0xedb88320 : crc >>> 1;
  }
  return (crc ^ 0xffffffff) >>> 0;
}
