/** A minimal Exif writer (TIFF 6.0 inside JPEG APP1; tags of Exif 2.3, CIPA DC-008, from memory), byte for byte repeatable. */
export interface ExifFields {
  make: string;
  model: string;
  serial: string;
  lensModel: string;
  software: string;
  orientation: number;
  /** Nominal, as cameras write it: [numerator, denominator] seconds. */
  exposureTime: readonly [number, number];
  /** Nominal f-number in tenths: f/5.6 -> [56, 10]. */
  fNumber: readonly [number, number];
  iso: number;
  /** Tag 9209. 9: fired, forced on. 16: forced off. */
  flash: number;
  focalLengthMm: number;
  focalLength35mmMm: number;
  /** Local time `YYYY:MM:DD HH:MM:SS`. */
  dateTimeOriginal: string;
  /** Digits after the decimal point. */
  subSecTimeOriginal: string;
  /** `+HH:MM`. */
  offsetTimeOriginal: string;
  /** 1 manual, 3 aperture priority. */
  exposureProgram: number;
  meteringMode: number;
  /** 0 auto, 1 manual. */
  whiteBalance: number;
  widthPx: number;
  heightPx: number;
}

interface Entry {
  tag: number;
  type: number;
  count: number;
  value: Buffer;
}

const ascii = (tag: number, text: string): Entry => {
  const value = Buffer.from(`${text}\0`, 'latin1');
  return { tag, type: 2, count: value.length, value };
};
const short = (tag: number, n: number): Entry => {
  const value = Buffer.alloc(2);
  value.writeUInt16BE(n);
  return { tag, type: 3, count: 1, value };
};
const long = (tag: number, n: number): Entry => {
  const value = Buffer.alloc(4);
  value.writeUInt32BE(n);
  return { tag, type: 4, count: 1, value };
};
const rational = (tag: number, [numerator, denominator]: readonly [number, number], signed = false): Entry => {
  const value = Buffer.alloc(8);
  if (signed) {
    value.writeInt32BE(numerator);
    value.writeInt32BE(denominator, 4);
  } else {
    value.writeUInt32BE(numerator);
    value.writeUInt32BE(denominator, 4);
  }
  return { tag, type: signed ? 10 : 5, count: 1, value };
};
const undefinedBytes = (tag: number, value: Buffer): Entry => ({ tag, type: 7, count: value.length, value });

function directory(entries: Entry[], startOffset: number): Buffer {
  const sorted = [...entries].sort((a, b) => a.tag - b.tag);
  const head = Buffer.alloc(2 + sorted.length * 12 + 4);
  head.writeUInt16BE(sorted.length, 0);
  const tail: Buffer[] = [];
  let tailOffset = startOffset + head.length;
  sorted.forEach((entry, i) => {
    const at = 2 + i * 12;
    head.writeUInt16BE(entry.tag, at);
    head.writeUInt16BE(entry.type, at + 2);
    head.writeUInt32BE(entry.count, at + 4);
    if (entry.value.length <= 4) entry.value.copy(head, at + 8);
    else {
      head.writeUInt32BE(tailOffset, at + 8);
      const padded = entry.value.length % 2 === 0 ? entry.value : Buffer.concat([entry.value, Buffer.alloc(1)]);
      tail.push(padded);
      tailOffset += padded.length;
    }
  });
  return Buffer.concat([head, ...tail]);
}

/** The APP1 segment, marker and length included. */
export function exifApp1(fields: ExifFields): Buffer {
  const ifd0 = (pointer: number): Entry[] => [
    ascii(0x010f, fields.make),
    ascii(0x0110, fields.model),
    short(0x0112, fields.orientation),
    ascii(0x0131, fields.software),
    ascii(0x0132, fields.dateTimeOriginal),
    long(0x8769, pointer),
  ];
  const exifOffset = 8 + directory(ifd0(0), 8).length;
  const exif = directory(
    [
      rational(0x829a, fields.exposureTime),
      rational(0x829d, fields.fNumber),
      short(0x8822, fields.exposureProgram),
      short(0x8827, fields.iso),
      undefinedBytes(0x9000, Buffer.from('0232', 'latin1')),
      ascii(0x9003, fields.dateTimeOriginal),
      ascii(0x9011, fields.offsetTimeOriginal),
      rational(0x9204, [0, 10], true),
      short(0x9207, fields.meteringMode),
      short(0x9209, fields.flash),
      rational(0x920a, [fields.focalLengthMm, 1]),
      ascii(0x9291, fields.subSecTimeOriginal),
      short(0xa001, 1),
      long(0xa002, fields.widthPx),
      long(0xa003, fields.heightPx),
      short(0xa402, fields.exposureProgram === 1 ? 1 : 0),
      short(0xa403, fields.whiteBalance),
      short(0xa405, fields.focalLength35mmMm),
      ascii(0xa431, fields.serial),
      ascii(0xa434, fields.lensModel),
    ],
    exifOffset,
  );
  const tiff = Buffer.concat([Buffer.from([0x4d, 0x4d, 0, 42, 0, 0, 0, 8]), directory(ifd0(exifOffset), 8), exif]);
  const body = Buffer.concat([Buffer.from('Exif\0\0', 'latin1'), tiff]);
  const marker = Buffer.from([0xff, 0xe1, 0, 0]);
  marker.writeUInt16BE(body.length + 2, 2);
  return Buffer.concat([marker, body]);
}

/** Puts Exif directly behind the start-of-image marker of a JPEG that has none yet. */
export function withExif(jpeg: Buffer, fields: ExifFields): Buffer {
  return Buffer.concat([jpeg.subarray(0, 2), exifApp1(fields), jpeg.subarray(2)]);
}
