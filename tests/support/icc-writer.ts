import { deflateSync, crc32 as zlibCrc32 } from 'node:zlib';
import { writeTiff, type TiffValue } from './tiff-writer.js';

export interface ProfileParts {
  /** 'RGB ', 'GRAY', 'CMYK'. */
  deviceSpace: string;
  /** 'XYZ ' unless said otherwise. */
  connectionSpace?: string;
  tags: ReadonlyMap<string, Buffer>;
}

/** An ICC profile of the given tags (ICC.1:2022 clauses 7.2 and 7.3, from memory), version 4. */
export function writeProfile({ deviceSpace, connectionSpace = 'XYZ ', tags }: ProfileParts): Buffer {
  const table = Buffer.alloc(4 + tags.size * 12);
  table.writeUInt32BE(tags.size, 0);
  const bodies: Buffer[] = [];
  let offset = 128 + table.length;
  [...tags].forEach(([name, body], index) => {
    const padded = Buffer.concat([body, Buffer.alloc((4 - (body.length % 4)) % 4)]);
    table.write(name, 4 + index * 12, 'latin1');
    table.writeUInt32BE(offset, 8 + index * 12);
    table.writeUInt32BE(body.length, 12 + index * 12);
    bodies.push(padded);
    offset += padded.length;
  });
  const header = Buffer.alloc(128);
  header.writeUInt32BE(offset, 0);
  header.writeUInt32BE(0x04_40_00_00, 8);
  header.write('mntr', 12, 'latin1');
  header.write(deviceSpace, 16, 'latin1');
  header.write(connectionSpace, 20, 'latin1');
  header.write('acsp', 36, 'latin1');
  s15Fixed16([0.9642, 1, 0.8249]).copy(header, 68);
  return Buffer.concat([header, table, ...bodies]);
}

export function s15Fixed16(values: readonly number[]): Buffer {
  const bytes = Buffer.alloc(values.length * 4);
  values.forEach((value, index) => bytes.writeInt32BE(Math.round(value * 65_536), index * 4));
  return bytes;
}

export function xyzTag(xyz: readonly number[]): Buffer {
  return Buffer.concat([Buffer.from('XYZ \0\0\0\0', 'latin1'), s15Fixed16(xyz)]);
}

export function matrixTag(matrix: readonly number[]): Buffer {
  return Buffer.concat([Buffer.from('sf32\0\0\0\0', 'latin1'), s15Fixed16(matrix)]);
}

/** curveType: none = identity, one = gamma as u8Fixed8, more = samples 0..65535. */
export function curvTag(entries: readonly number[]): Buffer {
  const bytes = Buffer.alloc(12 + entries.length * 2);
  bytes.write('curv', 0, 'latin1');
  bytes.writeUInt32BE(entries.length, 8);
  entries.forEach((entry, index) => bytes.writeUInt16BE(Math.round(entry), 12 + index * 2));
  return bytes;
}

/** parametricCurveType. */
export function paraTag(functionType: number, parameters: readonly number[]): Buffer {
  const head = Buffer.alloc(12);
  head.write('para', 0, 'latin1');
  head.writeUInt16BE(functionType, 8);
  return Buffer.concat([head, s15Fixed16(parameters)]);
}

export function descriptionTag(text: string): Buffer {
  const head = Buffer.alloc(28);
  head.write('mluc', 0, 'latin1');
  head.writeUInt32BE(1, 8);
  head.writeUInt32BE(12, 12);
  head.write('enUS', 16, 'latin1');
  head.writeUInt32BE(text.length * 2, 20);
  head.writeUInt32BE(28, 24);
  return Buffer.concat([head, Buffer.from(text, 'utf16le').swap16()]);
}

/** Puts a profile into a PNG as an iCCP chunk after IHDR, replacing any that is there. */
export function embedInPng(png: Buffer, profile: Buffer): Buffer {
  const chunks: Buffer[] = [];
  for (let at = 8; at + 12 <= png.length; at += 12 + png.readUInt32BE(at)) {
    const type = png.toString('latin1', at + 4, at + 8);
    if (type !== 'iCCP' && type !== 'sRGB') chunks.push(png.subarray(at, at + 12 + png.readUInt32BE(at)));
  }
  const data = Buffer.concat([Buffer.from('p\0\0', 'latin1'), deflateSync(profile)]);
  return Buffer.concat([png.subarray(0, 8), ...chunks.slice(0, 1), pngChunk('iCCP', data), ...chunks.slice(1)]);
}

/** Puts chunks into a PNG right after IHDR, and takes colour chunks out that the encoder wrote by itself. */
export function withPngChunks(png: Buffer, added: readonly Buffer[]): Buffer {
  const chunks: Buffer[] = [];
  for (let at = 8; at + 12 <= png.length; at += 12 + png.readUInt32BE(at)) {
    const type = png.toString('latin1', at + 4, at + 8);
    if (!['sRGB', 'gAMA', 'cHRM', 'cICP', 'iCCP'].includes(type))
      chunks.push(png.subarray(at, at + 12 + png.readUInt32BE(at)));
  }
  return Buffer.concat([png.subarray(0, 8), ...chunks.slice(0, 1), ...added, ...chunks.slice(1)]);
}

/** Sets the checksum of every chunk that lies whole in the bytes to what it should be. */
export function withMendedChecksums(png: Buffer): Buffer {
  const bytes = Buffer.from(png);
  for (let at = 8; at + 12 <= bytes.length;) {
    const end = at + 12 + bytes.readUInt32BE(at);
    if (end > bytes.length) break;
    bytes.writeUInt32BE(zlibCrc32(bytes.subarray(at + 4, end - 4)), end - 4);
    at = end;
  }
  return bytes;
}

export function pngChunk(type: string, data: Buffer): Buffer {
  const body = Buffer.concat([Buffer.from(type, 'latin1'), data]);
  const [length, crc] = [Buffer.alloc(4), Buffer.alloc(4)];
  length.writeUInt32BE(data.length);
  crc.writeUInt32BE(zlibCrc32(body));
  return Buffer.concat([length, body, crc]);
}

/** Puts a profile (of at most 65,000 bytes) into a JPEG without one, as one APP2 segment after SOI. */
export function embedInJpeg(jpeg: Buffer, profile: Buffer): Buffer {
  const body = Buffer.concat([Buffer.from('ICC_PROFILE\0\x01\x01', 'latin1'), profile]);
  const head = Buffer.from([0xff, 0xe2, 0, 0]);
  head.writeUInt16BE(body.length + 2, 2);
  return Buffer.concat([jpeg.subarray(0, 2), head, body, jpeg.subarray(2)]);
}

/** An uncompressed one-strip TIFF, 8 or 16 bit, 1 or 3 channels, with a profile in tag 34675. */
export function tiffWithProfile(
  pixels: Uint8Array | Uint16Array,
  widthPx: number,
  heightPx: number,
  channels: 1 | 3,
  profile: Buffer | null,
): Buffer {
  const bits = pixels.BYTES_PER_ELEMENT * 8;
  const short = (...values: number[]): TiffValue => ({ type: 'short', values });
  const directory = new Map<number, TiffValue>([
    [256, short(widthPx)],
    [257, short(heightPx)],
    [258, short(...new Array<number>(channels).fill(bits))],
    [259, short(1)],
    [262, short(channels === 1 ? 1 : 2)],
    [273, { block: 'strip' }],
    [277, short(channels)],
    [278, short(heightPx)],
    [279, { type: 'long', values: [pixels.byteLength] }],
    [284, short(1)],
  ]);
  if (profile !== null) directory.set(34_675, { type: 'undefined', values: [...profile] });
  const strip = new Uint8Array(pixels.buffer, pixels.byteOffset, pixels.byteLength);
  return writeTiff(new Map([['ifd0', directory]]), new Map([['strip', strip]]));
}
