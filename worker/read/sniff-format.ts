import { tiffRawFamily } from './raw-family.js';

export interface SniffedFormat {
  format: 'jpeg' | 'png' | 'tiff' | 'webp' | 'avif' | 'gif' | 'heif' | 'raw';
  /** For `raw`: cr2, cr3, crw, nef, arw, dng, pef, orf, rw2, raf, mrw, x3f, 3fr, iiq, srw ...; else null. */
  rawFamily: string | null;
  mediaType: string;
}

/** Media types of raw files as the freedesktop.org shared MIME database names them (from memory). */
const RAW_MEDIA_TYPE: ReadonlyMap<string, string> = new Map([
  ['cr2', 'image/x-canon-cr2'],
  ['cr3', 'image/x-canon-cr3'],
  ['crw', 'image/x-canon-crw'],
  ['nef', 'image/x-nikon-nef'],
  ['arw', 'image/x-sony-arw'],
  ['dng', 'image/x-adobe-dng'],
  ['pef', 'image/x-pentax-pef'],
  ['orf', 'image/x-olympus-orf'],
  ['rw2', 'image/x-panasonic-rw2'],
  ['raf', 'image/x-fuji-raf'],
  ['mrw', 'image/x-minolta-mrw'],
  ['x3f', 'image/x-sigma-x3f'],
  ['dcr', 'image/x-kodak-dcr'],
]);

const HEVC_BRANDS = new Set(['heic', 'heix', 'heim', 'heis', 'hevc', 'hevx', 'hevm', 'hevs']);
const AVIF_BRANDS = new Set(['avif', 'avis', 'avio']);
const IMAGE_BRANDS = new Set(['mif1', 'mif2', 'msf1', 'miaf']);

/**
 * The format of a file by its first bytes and, for TIFF-like files, by what its directories say is inside;
 * never by its name. Pass the whole file: a TIFF's directories may stand at its end. Never throws.
 * Null for what is none of ours (BMP, JPEG XL, JPEG 2000, PDF, video, text, nothing at all).
 */
export function sniffFormat(bytes: Uint8Array): SniffedFormat | null {
  if (startsWith(bytes, [0xff, 0xd8, 0xff])) return picture('jpeg', 'image/jpeg');
  if (startsWith(bytes, [0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a])) return picture('png', 'image/png');
  const head = latin1(bytes, 0, 16);
  if (head.startsWith('GIF87a') || head.startsWith('GIF89a')) return picture('gif', 'image/gif');
  if (head.startsWith('RIFF') && head.slice(8, 12) === 'WEBP') return picture('webp', 'image/webp');
  if (head.slice(4, 8) === 'ftyp') return fromFileTypeBox(bytes);
  if (head.startsWith('FUJIFILMCCD-RAW')) return raw('raf');
  if (head.startsWith('\0MRM')) return raw('mrw');
  if (head.startsWith('FOVb')) return raw('x3f');
  if (head.slice(6, 14) === 'HEAPCCDR') return raw('crw');
  const family = tiffRawFamily(bytes);
  if (family !== null) return raw(family);
  if (isTiff(head)) return picture('tiff', 'image/tiff');
  return null;
}

/** ISO base media file: the brands of its first box (ISO/IEC 14496-12, 4.3; HEIF ISO/IEC 23008-12; from memory). */
function fromFileTypeBox(bytes: Uint8Array): SniffedFormat | null {
  const declared = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength).getUint32(0);
  const end = Math.min(bytes.length, declared, 4096);
  const major = latin1(bytes, 8, 12);
  const brands = new Set([major]);
  for (let at = 16; at + 4 <= end; at += 4) brands.add(latin1(bytes, at, at + 4));
  if (major === 'crx ') return raw('cr3');
  const has = (names: ReadonlySet<string>) => [...brands].some((brand) => names.has(brand));
  if (AVIF_BRANDS.has(major)) return picture('avif', 'image/avif');
  if (HEVC_BRANDS.has(major)) return picture('heif', 'image/heic');
  if (!has(IMAGE_BRANDS)) return null;
  if (has(AVIF_BRANDS)) return picture('avif', 'image/avif');
  return picture('heif', has(HEVC_BRANDS) ? 'image/heic' : 'image/heif');
}

/** Classic TIFF (42) and BigTIFF (43) in either byte order. */
function isTiff(head: string): boolean {
  return ['II*\0', 'MM\0*', 'II+\0', 'MM\0+'].includes(head.slice(0, 4));
}

function picture(format: Exclude<SniffedFormat['format'], 'raw'>, mediaType: string): SniffedFormat {
  return { format, rawFamily: null, mediaType };
}

function raw(rawFamily: string): SniffedFormat {
  return { format: 'raw', rawFamily, mediaType: RAW_MEDIA_TYPE.get(rawFamily) ?? 'image/x-raw' };
}

function startsWith(bytes: Uint8Array, prefix: readonly number[]): boolean {
  return bytes.length >= prefix.length && prefix.every((value, index) => bytes[index] === value);
}

function latin1(bytes: Uint8Array, start: number, end: number): string {
  let text = '';
  for (let at = start; at < Math.min(end, bytes.length); at += 1) text += String.fromCharCode(bytes[at] ?? 0);
  return text;
}
