import { createDeflate, deflateSync } from 'node:zlib';
import { buffer } from 'node:stream/consumers';
import { Readable } from 'node:stream';
import { sharp } from '../../worker/decode/sharp-setup.js';
import { curvTag, pngChunk, tiffWithProfile, withPngChunks } from './icc-writer.js';
import { rgbProfile, SRGB_COLUMNS } from './profiles.js';
import { busyPixels, SEEDS } from './seed-images.js';

const GIGABYTE = 2 ** 30;
const HUGE_PX = 30_000;

let gigabyte: Promise<Buffer> | null = null;
/** A deflate stream of a gigabyte of zeros; some megabytes. Made once. */
const deflatedGigabyte = (): Promise<Buffer> => (gigabyte ??= deflateGigabyte());

function deflateGigabyte(): Promise<Buffer> {
  const part = Buffer.alloc(2 ** 24);
  const parts = Array.from({ length: GIGABYTE / part.length }, () => part);
  return buffer(Readable.from(parts).pipe(createDeflate({ level: 1 })));
}

const latin1 = (text: string): Buffer => Buffer.from(text, 'latin1');

function pngOf(widthPx: number, heightPx: number, data: Buffer): Buffer {
  const header = Buffer.alloc(13);
  header.writeUInt32BE(widthPx, 0);
  header.writeUInt32BE(heightPx, 4);
  header.set([8, 2, 0, 0, 0], 8);
  const signature = Buffer.from([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a]);
  return Buffer.concat([
    signature,
    pngChunk('IHDR', header),
    pngChunk('IDAT', data),
    pngChunk('IEND', Buffer.alloc(0)),
  ]);
}

/** One directory of a TIFF: rows of tag, type, count and value or offset, all little-endian numbers. */
export type EntryRow = readonly [tag: number, type: number, count: number, value: number];

/** A TIFF of directories in a chain behind `data`, which begins at byte 8. `next`: where the last one points to. */
export function tiffOfRows(directories: readonly (readonly EntryRow[])[], data = Buffer.alloc(0), next = 0): Buffer {
  const head = latin1('II*\0\0\0\0\0');
  let at = 8 + data.length;
  head.writeUInt32LE(at, 4);
  const parts = directories.map((rows, index) => {
    const bytes = Buffer.alloc(2 + rows.length * 12 + 4);
    bytes.writeUInt16LE(rows.length, 0);
    rows.forEach(([tag, type, count, value], row) => {
      const entryAt = 2 + row * 12;
      bytes.writeUInt16LE(tag, entryAt);
      bytes.writeUInt16LE(type, entryAt + 2);
      bytes.writeUInt32LE(count, entryAt + 4);
      bytes.writeUInt32LE(value, entryAt + 8);
    });
    at += bytes.length;
    bytes.writeUInt32LE(index + 1 < directories.length ? at : next, bytes.length - 4);
    return bytes;
  });
  return Buffer.concat([head, data, ...parts]);
}

const [SHORT, LONG] = [3, 4];

/** Sixty directories whose strips are a million, all the same four megabytes. */
function tiffOfSharedStrips(extra: readonly EntryRow[]): Buffer {
  const strips = 1_000_000;
  const rows: EntryRow[] = [
    [256, SHORT, 1, 16],
    [257, SHORT, 1, 16],
    [273, LONG, strips, 8],
    [279, LONG, strips, 8],
    ...extra,
  ];
  return tiffOfRows(
    Array.from({ length: 60 }, () => rows),
    Buffer.alloc(strips * 4, 1),
  );
}

/** A tile of 61,440 x 61,440 in a picture of 16 x 16. */
function tiffOfHugeTile(): Buffer {
  const data = deflateSync(Buffer.alloc(2000));
  const rows: EntryRow[] = [
    [256, LONG, 1, 16],
    [257, LONG, 1, 16],
    [258, SHORT, 1, 8],
    [259, SHORT, 1, 8],
    [262, SHORT, 1, 1],
    [277, SHORT, 1, 1],
    [322, LONG, 1, 61_440],
    [323, LONG, 1, 61_440],
    [324, LONG, 1, 8],
    [325, LONG, 1, data.length],
  ];
  return tiffOfRows([rows], data);
}

async function jpegSaying(widthPx: number, heightPx: number): Promise<Buffer> {
  const bytes = await SEEDS.jpeg();
  const frameHead = bytes.indexOf(Buffer.from([0xff, 0xc0]));
  bytes.writeUInt16BE(heightPx, frameHead + 5);
  bytes.writeUInt16BE(widthPx, frameHead + 7);
  return bytes;
}

/** The last scan of a progressive JPEG three thousand times. */
async function jpegOfManyScans(): Promise<Buffer> {
  const grey = sharp({ create: { width: 1600, height: 1600, channels: 3, background: '#777' } });
  const bytes = await grey.jpeg({ progressive: true }).toBuffer();
  const scan = bytes.subarray(bytes.lastIndexOf(Buffer.from([0xff, 0xda])), -2);
  const scans = Array.from({ length: 3000 }, () => scan);
  return Buffer.concat([bytes.subarray(0, -2), ...scans, bytes.subarray(-2)]);
}

function gifOfManyFrames(): Buffer {
  const head = Buffer.from([...latin1('GIF89a'), 1, 0, 1, 0, 0x80, 0, 0, 0, 0, 0, 255, 255, 255]);
  const frame = Buffer.from([0x2c, 0, 0, 0, 0, 1, 0, 1, 0, 0, 2, 2, 0x44, 1, 0]);
  return Buffer.concat([head, Buffer.alloc(frame.length * 200_000, frame), Buffer.from([0x3b])]);
}

/** Boxes that say 16 x 16 around a picture of 2,048 x 2,048 (more pixels than `judge-files` allows). */
async function avifOfMoreThanItSays(): Promise<Buffer> {
  const grey = sharp({ create: { width: 2048, height: 2048, channels: 3, background: '#777' } });
  const bytes = await grey.avif({ effort: 0, quality: 10 }).toBuffer();
  const size = bytes.indexOf('ispe', 0, 'latin1') + 8;
  bytes.writeUInt32BE(16, size);
  bytes.writeUInt32BE(16, size + 4);
  return bytes;
}

/** A profile of which all tags are one curve that counts 2^31 entries. */
function profileOfOneHugeCurve(): Buffer {
  const profile = rgbProfile('huge', SRGB_COLUMNS, curvTag([0, 65_535]), false);
  const curve = profile.indexOf('curv', 0, 'latin1');
  profile.writeUInt32BE(2 ** 31, curve + 8);
  for (let tag = 0; tag < profile.readUInt32BE(128); tag += 1) profile.writeUInt32BE(curve, 132 + tag * 12 + 4);
  return profile;
}

/** Small files that ask for much: name -> bytes, and the code they are refused with; null: measured, at no cost. */
export const BOMBS: Record<string, { make: () => Promise<Buffer> | Buffer; code: string | null }> = {
  'PNG of 30,000 x 30,000': {
    make: async () => pngOf(HUGE_PX, HUGE_PX, await deflatedGigabyte()),
    code: 'frame-too-many-pixels',
  },
  'PNG whose data go on for a gigabyte': {
    make: async () => pngOf(16, 16, await deflatedGigabyte()),
    code: null,
  },
  'PNG whose profile inflates to a gigabyte': {
    make: async () =>
      withPngChunks(await SEEDS.png(), [pngChunk('iCCP', Buffer.concat([latin1('p\0\0'), await deflatedGigabyte()]))]),
    code: 'frame-corrupt',
  },
  'PNG of five texts that inflate to a gigabyte each': {
    make: async () => {
      const text = pngChunk('zTXt', Buffer.concat([latin1('Comment\0\0'), await deflatedGigabyte()]));
      return withPngChunks(await SEEDS.png(), [text, text, text, text, text]);
    },
    code: null,
  },
  'PNG whose XMP inflates to a gigabyte': {
    make: async () => {
      const head = latin1('XML:com.adobe.xmp\0\x01\0\0\0');
      return withPngChunks(await SEEDS.png(), [pngChunk('iTXt', Buffer.concat([head, await deflatedGigabyte()]))]);
    },
    code: null,
  },
  'JPEG of 65,500 x 65,500': { make: () => jpegSaying(65_500, 65_500), code: 'frame-too-many-pixels' },
  'JPEG of 3,000 scans': { make: jpegOfManyScans, code: 'frame-corrupt' },
  'GIF of 200,000 frames': { make: gifOfManyFrames, code: null },
  'TIFF of 30,000 x 30,000': {
    make: () => tiffWithProfile(new Uint8Array(300), HUGE_PX, HUGE_PX, 3, null),
    code: 'frame-too-many-pixels',
  },
  'TIFF of a tile of 61,440 x 61,440': { make: tiffOfHugeTile, code: 'frame-corrupt' },
  'DNG of sixty times a million strips, all the same bytes': {
    make: () => tiffOfSharedStrips([[50_706, 1, 4, 0x0401]]),
    code: 'frame-corrupt',
  },
  'TIFF of sixty times a million strips, all the same bytes': {
    make: () => tiffOfSharedStrips([]),
    code: 'frame-corrupt',
  },
  'AVIF of more pixels than its boxes say': { make: avifOfMoreThanItSays, code: 'frame-corrupt' },
  'TIFF whose profile is one curve of 2^31 entries': {
    make: () => tiffWithProfile(busyPixels(3, 16, 16), 16, 16, 3, profileOfOneHugeCurve()),
    code: null,
  },
  'PNG whose Exif is 65,535 times 400,000 numbers': {
    make: async () => {
      const rows = Array.from({ length: 65_535 }, (): EntryRow => [0x8827, SHORT, 400_000, 8]);
      return withPngChunks(await SEEDS.png(), [pngChunk('eXIf', tiffOfRows([rows], Buffer.alloc(800_000, 0x41)))]);
    },
    code: null,
  },
  'PNG whose Exif directories are each other': {
    make: async () => {
      const around: EntryRow[] = [[0x8769, LONG, 1, 8], [0x014a, LONG, 1, 8], [0xa005, LONG, 1, 8], [0x8825, LONG, 1, 8]]; // prettier-ignore
      return withPngChunks(await SEEDS.png(), [pngChunk('eXIf', tiffOfRows([around], Buffer.alloc(0), 8))]);
    },
    code: null,
  },
  'PNG whose Exif values all lie past its end': {
    make: async () => {
      const rows = [0x010f, 0x829a, 0x829d, 0x8827, 0x9003].map((tag): EntryRow => [tag, 5, 2 ** 32 - 1, 2 ** 32 - 2]);
      return withPngChunks(await SEEDS.png(), [pngChunk('eXIf', tiffOfRows([rows]))]);
    },
    code: null,
  },
};
