import { existsSync, readFileSync } from 'node:fs';
import fc from 'fast-check';
import sharp from 'sharp';
import { describe, expect, it } from 'vitest';
import { sniffFormat } from '../../worker/read/sniff-format.js';
import { box, cr3Around, mrwAround, rafAround, jpegWithExif, writeTiff } from '../support/exif-writer.js';

const make = (value: string) => ({ tag: 0x010f, type: 'ascii', value }) as const;
const photometric = (value: number) => ({ tag: 0x0106, type: 'short', value: [value] }) as const;
const compression = (value: number) => ({ tag: 0x0103, type: 'short', value: [value] }) as const;
const dngVersion = { tag: 0xc612, type: 'byte', value: [1, 4, 0, 0] } as const;
const ftyp = (major: string, ...compatible: string[]) =>
  box('ftyp', Buffer.from(`${major}\0\0\0\0${compatible.join('')}`, 'latin1'));

const CFA = 32803;
const LINEAR_RAW = 34892;

describe('sniffFormat: pictures', () => {
  it.each(['jpeg', 'png', 'tiff', 'webp', 'avif', 'gif'] as const)('knows a real %s', async (format) => {
    const pixel = sharp({ create: { width: 8, height: 8, channels: 3, background: '#808080' } });
    expect(sniffFormat(await pixel.toFormat(format).toBuffer())).toEqual({
      format,
      rawFamily: null,
      mediaType: `image/${format}`,
    });
  });
  it.each([
    { bytes: ftyp('heic', 'mif1'), format: 'heif', mediaType: 'image/heic' },
    { bytes: ftyp('mif1', 'mif1', 'heic'), format: 'heif', mediaType: 'image/heic' },
    { bytes: ftyp('mif1', 'avif'), format: 'avif', mediaType: 'image/avif' },
    { bytes: ftyp('avis', 'msf1'), format: 'avif', mediaType: 'image/avif' },
    { bytes: ftyp('mif1'), format: 'heif', mediaType: 'image/heif' },
  ])('tells HEIF brands apart: $mediaType', ({ bytes, format, mediaType }) =>
    expect(sniffFormat(bytes)).toEqual({ format, rawFamily: null, mediaType }),
  );
  it.each([
    ['nothing', Buffer.alloc(0)],
    ['one byte', Buffer.from([0xff])],
    ['text', Buffer.from('this is no image at all')],
    ['BMP', Buffer.from('BM\x36\0\0\0\0\0\0\0\x36\0\0\0', 'latin1')],
    ['PDF', Buffer.from('%PDF-1.7\n')],
    ['video', ftyp('isom', 'mp42')],
    ['an ftyp box that ends at once', Buffer.from('\0\0\0\x08ftyp', 'latin1')],
    ['II and nothing else', Buffer.from('II')],
  ])('is null for %s', (_name, bytes) => expect(sniffFormat(bytes)).toBeNull());
});

describe('sniffFormat: raw files by content, never by name', () => {
  it.each([
    { family: 'dng', bytes: writeTiff({ ifd0: [make('Leica Camera AG'), dngVersion] }) },
    { family: 'dng', bytes: writeTiff({ ifd0: [make('Canon'), dngVersion], subIfds: [[photometric(LINEAR_RAW)]] }) },
    {
      family: 'cr2',
      bytes: writeTiff({ ifd0: [make('Canon')], afterHeader: Buffer.from('CR\x02\0\0\0\0\0', 'latin1') }),
    },
    {
      family: 'iiq',
      bytes: writeTiff({ ifd0: [make('Phase One')], afterHeader: Buffer.from('IIII\0\0\0\0', 'latin1') }),
    },
    {
      family: 'nef',
      bytes: writeTiff({ ifd0: [make('NIKON CORPORATION')], subIfds: [[compression(1)], [photometric(CFA)]] }),
    },
    {
      family: 'nef',
      bytes: writeTiff({ ifd0: [make('NIKON CORPORATION')], subIfds: [[photometric(CFA)]], littleEndian: false }),
    },
    { family: 'arw', bytes: writeTiff({ ifd0: [make('SONY ')], subIfds: [[compression(32767)]] }) },
    {
      family: 'pef',
      bytes: writeTiff({ ifd0: [make('PENTAX Corporation'), compression(65535)], littleEndian: false }),
    },
    { family: '3fr', bytes: writeTiff({ ifd0: [make('Hasselblad'), photometric(CFA)] }) },
    { family: 'srw', bytes: writeTiff({ ifd0: [make('SAMSUNG'), compression(32770)] }) },
    { family: 'tiff-raw', bytes: writeTiff({ ifd0: [photometric(CFA)] }) },
    { family: 'orf', bytes: writeTiff({ ifd0: [make('OLYMPUS')], magic: 0x4f52 }) },
    { family: 'rw2', bytes: writeTiff({ ifd0: [make('Panasonic')], magic: 0x55 }) },
    { family: 'raf', bytes: rafAround(jpegWithExif(writeTiff({}))) },
    { family: 'mrw', bytes: mrwAround(writeTiff({})) },
    { family: 'cr3', bytes: cr3Around(writeTiff({}), writeTiff({})) },
    { family: 'x3f', bytes: Buffer.from('FOVb\0\0\x02\0', 'latin1') },
    { family: 'crw', bytes: Buffer.from('II\x1a\0\0\0HEAPCCDR\x02\0', 'latin1') },
  ])('$family', ({ family, bytes }) => {
    expect(sniffFormat(bytes)).toMatchObject({ format: 'raw', rawFamily: family });
  });

  it('a TIFF picture of a raw maker, with a thumbnail SubIFD, is a picture', () => {
    const picture = writeTiff({ ifd0: [make('NIKON CORPORATION'), photometric(2)], subIfds: [[photometric(6)]] });
    expect(sniffFormat(picture)).toMatchObject({ format: 'tiff', rawFamily: null });
  });
  it('directories that point at themselves or out of the file end the search', () => {
    const looped = writeTiff({ ifd0: [{ tag: 0x014a, type: 'long', value: [8] }] });
    looped.writeUInt32LE(8, 8 + 2 + 12); // next directory: the first again
    expect(sniffFormat(looped)).toMatchObject({ format: 'tiff' });
    const away = writeTiff({ ifd0: [make('Canon')] });
    away.writeUInt32LE(0xfffffff0, 4);
    expect(sniffFormat(away)).toMatchObject({ format: 'tiff' });
  });
  it('never throws, whatever the bytes', () => {
    const starts = ['II*\0\x08\0\0\0', 'MM\0*\0\0\0\x08', '\0\0\0\x18ftyp', 'IIU\0', 'FUJIFILM', ''];
    fc.assert(
      fc.property(fc.constantFrom(...starts), fc.uint8Array({ maxLength: 300 }), (start, rest) => {
        sniffFormat(Buffer.concat([Buffer.from(start, 'latin1'), rest]));
      }),
      { numRuns: 500 },
    );
  });
});

const SHARED = new URL('../../../shared/files/', import.meta.url);
describe.skipIf(!existsSync(SHARED))('sniffFormat: real files (skipped where ../shared is absent)', () => {
  it.each([
    ['exiftool-t/CanonRaw.cr2', 'cr2'],
    ['exiftool-t/CanonRaw.crw', 'crw'],
    ['exiftool-t/DNG.dng', 'dng'],
    ['exiftool-t/FujiFilm.raf', 'raf'],
    ['exiftool-t/Minolta.mrw', 'mrw'],
    ['exiftool-t/Nikon.nef', 'nef'],
    ['exiftool-t/Panasonic.rw2', 'rw2'],
    ['exiftool-t/PhaseOne.iiq', 'iiq'],
    ['exiftool-t/Sigma.x3f', 'x3f'],
    ['dng/colorchart.dng', 'dng'],
    ['exiftool-t/ExifTool.tif', null],
    ['exiftool-t/Canon.jpg', null],
    ['heif/kf_orient6.heic', null],
  ])('%s', (name, rawFamily) => {
    const sniffed = sniffFormat(readFileSync(new URL(name, SHARED)));
    expect(sniffed?.rawFamily).toBe(rawFamily);
    expect(sniffed?.format === 'raw').toBe(rawFamily !== null);
  });
});
