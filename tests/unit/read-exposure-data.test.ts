import { existsSync, readFileSync } from 'node:fs';
import exifr from 'exifr';
import fc from 'fast-check';
import sharp from 'sharp';
import { describe, expect, it } from 'vitest';
import { ExposureData } from '../../src/contracts/exposure.js';
import { EXIF_TAG } from '../../worker/read/exif-tags.js';
import { parseExif } from '../../worker/read/parse-exif.js';
import { readExposureData } from '../../worker/read/read-exposure-data.js';
import { sniffFormat } from '../../worker/read/sniff-format.js';
import {
  cr3Around,
  jpegWithExif,
  mrwAround,
  pngWithExif,
  rafAround,
  writeTiff,
  type TagValue,
} from '../support/exif-writer.js';

const ascii = (tag: number, value: string): TagValue => ({ tag, type: 'ascii', value });
const short = (tag: number, ...value: number[]): TagValue => ({ tag, type: 'short', value });
const long = (tag: number, ...value: number[]): TagValue => ({ tag, type: 'long', value });
const rational = (tag: number, n: number, d: number): TagValue => ({ tag, type: 'rational', value: [[n, d]] });
const srational = (tag: number, n: number, d: number): TagValue => ({ tag, type: 'srational', value: [[n, d]] });

const IFD0 = [ascii(0x010f, 'Makers Hall'), ascii(0x0110, 'MH-1'), short(0x0112, 6), ascii(0x0131, 'Firmware 1.2')];
const EXIF = [
  rational(0x829a, 1, 60),
  rational(0x829d, 56, 10),
  short(0x8822, 1),
  short(0x8827, 160),
  ascii(0x9003, '2026:05:16 10:20:30'),
  ascii(0x9011, '+01:00'),
  ascii(0x9291, '05'),
  srational(0x9204, -1, 3),
  short(0x9207, 3),
  short(0x9208, 4),
  short(0x9209, 0x19),
  rational(0x920a, 85, 1),
  short(0xa402, 1),
  short(0xa403, 1),
  short(0xa405, 127),
  ascii(0xa431, 'SN 0042'),
  ascii(0xa434, 'Hall 85mm'),
];

async function read(bytes: Buffer) {
  const sniffed = sniffFormat(bytes);
  if (sniffed === null) throw new Error('the fixture has no known format');
  const file = await readExposureData(bytes, sniffed);
  // Whatever was read must pass the contract.
  ExposureData.parse(file.exposure);
  return file;
}

/** A JPEG with EXIF's tags, some of them replaced or (null) left out. */
function jpeg(replaced: Record<number, TagValue | null>, ifd0: readonly TagValue[] = IFD0): Buffer {
  const kept = EXIF.filter(({ tag }) => !(tag in replaced));
  const added = Object.values(replaced).filter((entry) => entry !== null);
  return jpegWithExif(writeTiff({ ifd0, exif: [...kept, ...added] }));
}

const becauseOf = (file: Awaited<ReturnType<typeof read>>, field: string) =>
  file.exposure.missing.find((entry) => entry.field === field)?.because;

describe('readExposureData: containers', () => {
  const tiff = writeTiff({ ifd0: IFD0, exif: EXIF });
  const bigEndian = writeTiff({ ifd0: IFD0, exif: EXIF, littleEndian: false });
  it.each([
    ['JPEG', jpegWithExif(tiff)],
    ['JPEG, big-endian', jpegWithExif(bigEndian)],
    ['PNG', pngWithExif(tiff)],
    ['TIFF', tiff],
    ['TIFF, big-endian', bigEndian],
    ['DNG', writeTiff({ ifd0: [...IFD0, { tag: 0xc612, type: 'byte', value: [1, 4, 0, 0] }], exif: EXIF })],
    ['NEF', writeTiff({ ifd0: IFD0, exif: EXIF, subIfds: [[short(0x0106, 32803)]] })],
    ['ORF', writeTiff({ ifd0: IFD0, exif: EXIF, magic: 0x4f52 })],
    ['RW2', writeTiff({ ifd0: IFD0, exif: EXIF, magic: 0x55 })],
    ['RAF', rafAround(jpegWithExif(tiff))],
    ['MRW', mrwAround(tiff)],
    ['CR3', cr3Around(writeTiff({ ifd0: IFD0 }), writeTiff({ ifd0: EXIF }))],
  ])('%s', async (_name, bytes) => {
    const { exposure, orientation, notes } = await read(bytes);
    expect(exposure).toMatchObject({
      fNumber: 5.6,
      exposureTimeSeconds: 1 / 60,
      iso: 160,
      exposureProgram: 'manual',
      exposureMode: 'manual',
      meteringMode: 'spot',
      lightSource: 'flash',
      whiteBalance: 'manual',
      cameraMake: 'Makers Hall',
      cameraModel: 'MH-1',
      cameraSerial: 'SN 0042',
      lensModel: 'Hall 85mm',
      focalLengthMm: 85,
      focalLength35mmMm: 127,
      software: 'Firmware 1.2',
      missing: [],
    });
    expect(exposure.exposureBiasStops).toBeCloseTo(-1 / 3, 9);
    expect(exposure.flash).toMatchObject({ code: 0x19, fired: true, mode: 'auto' });
    // The scale's exact values: f/5.6 is 2^2.5, 1/60 is 1/64, ISO 160 is 100 x 2^(2/3).
    expect(exposure.exact.fNumber).toBeCloseTo(5.6569, 4);
    expect(exposure.exact.exposureTimeSeconds).toBe(1 / 64);
    expect(exposure.exact.iso).toBeCloseTo(158.74, 2);
    expect(exposure.av).toBeCloseTo(5, 12);
    expect(exposure.tv).toBeCloseTo(6, 12);
    expect(exposure.sv).toBeCloseTo(5 + 2 / 3, 12);
    expect(exposure.ev100).toBeCloseTo(11 - 2 / 3, 12);
    expect(exposure.capturedAt).toEqual({
      iso: '2026-05-16T10:20:30.05+01:00',
      epochMs: Date.UTC(2026, 4, 16, 9, 20, 30, 50),
      offsetKnown: true,
      subSecondsKnown: true,
    });
    expect(orientation).toBe(6);
    expect(notes).toEqual([]);
  });

  it.each(['webp', 'avif', 'jpeg'] as const)('%s written by an encoder', async (format) => {
    const bytes = await sharp({ create: { width: 16, height: 16, channels: 3, background: '#808080' } })
      .withExif({ IFD0: { Model: 'MH-1' }, IFD2: { FNumber: '28/10', ExposureTime: '1/125', ISOSpeedRatings: '400' } })
      .toFormat(format)
      .toBuffer();
    const { exposure } = await read(bytes);
    expect(exposure).toMatchObject({ cameraModel: 'MH-1', fNumber: 2.8, exposureTimeSeconds: 1 / 125, iso: 400 });
  });

  it.each([
    ['GIF', 'gif'],
    ['PNG', 'png'],
    ['WebP', 'webp'],
  ] as const)('a %s without Exif says so for every field', async (_name, format) => {
    const bytes = await sharp({ create: { width: 4, height: 4, channels: 3, background: '#808080' } })
      .toFormat(format)
      .toBuffer();
    const { exposure, orientation } = await read(bytes);
    expect(orientation).toBe(1);
    expect(exposure.missing.map(({ field }) => field)).toEqual([
      'fNumber',
      'exposureTimeSeconds',
      'iso',
      'flash',
      'capturedAt',
      'cameraModel',
    ]);
    expect(new Set(exposure.missing.map(({ because }) => because))).toEqual(new Set(['the file holds no Exif data']));
  });
});

describe('readExposureData: odd values', () => {
  it('zero denominators and zeros are no values', async () => {
    const file = await read(jpeg({ 0x829a: rational(0x829a, 1, 0), 0x829d: rational(0x829d, 0, 10), 0x9204: null }));
    expect(file.exposure).toMatchObject({ fNumber: null, exposureTimeSeconds: null, av: null, tv: null, ev100: null });
    expect(file.exposure.sv).not.toBeNull();
    expect(becauseOf(file, 'fNumber')).toMatch(/no usable f-number/);
    expect(becauseOf(file, 'exposureTimeSeconds')).toMatch(/no usable exposure time/);
    expect(becauseOf(file, 'iso')).toBeUndefined();
  });
  it('time and f-number come from their APEX tags when their own are absent, and say so', async () => {
    // Exif tag table: 1/125 s is 696578/100000, f/2.8 is 29708/10000.
    const file = await read(
      jpeg({
        0x829a: null,
        0x829d: null,
        0x9201: srational(0x9201, 696578, 100000),
        0x9202: rational(0x9202, 29708, 10000),
      }),
    );
    expect(file.exposure.exposureTimeSeconds).toBeCloseTo(1 / 125, 6);
    expect(file.exposure.fNumber).toBeCloseTo(2.8, 3);
    expect(file.exposure.exact).toMatchObject({ exposureTimeSeconds: 1 / 128, fNumber: 2 ** 1.5 });
    expect(file.notes.join()).toMatch(/ShutterSpeedValue/);
    expect(file.notes.join()).toMatch(/ApertureValue/);
  });
  it('an APEX time beyond 100, or 0 beside an unusable time, is unset', async () => {
    const beyond = await read(jpeg({ 0x829a: null, 0x9201: srational(0x9201, -2147483648, 1) }));
    expect(beyond.exposure.exposureTimeSeconds).toBeNull();
    const zero = await read(jpeg({ 0x829a: rational(0x829a, 0, 1), 0x9201: srational(0x9201, 0, 1) }));
    expect(zero.exposure.exposureTimeSeconds).toBeNull();
  });
  it.each([
    { type: 2, tags: [long(0x8832, 102400)], iso: 102400 },
    { type: 1, tags: [long(0x8831, 204800), long(0x8832, 102400)], iso: 204800 },
    { type: 3, tags: [long(0x8833, 409600), long(0x8832, 102400)], iso: 409600 },
    { type: 4, tags: [long(0x8831, 204800), long(0x8832, 102400)], iso: 102400 },
  ])('a saturated ISO with SensitivityType $type is $iso', async ({ type, tags, iso }) => {
    const all = Object.fromEntries(
      [short(0x8827, 65535), short(0x8830, type), ...tags].map((entry) => [entry.tag, entry]),
    );
    const file = await read(jpeg(all));
    expect(file.exposure.iso).toBe(iso);
    expect(file.notes).toHaveLength(1);
  });
  it('a saturated ISO without the wide tags is missing, not 65535', async () => {
    const file = await read(jpeg({ 0x8827: short(0x8827, 65535) }));
    expect(file.exposure.iso).toBeNull();
    expect(becauseOf(file, 'iso')).toMatch(/above 65535/);
  });
  it('takes the first usable of several ISO values', async () =>
    expect((await read(jpeg({ 0x8827: short(0x8827, 0, 200) }))).exposure.iso).toBe(200));
  it('RW2 says its ISO in its first directory', async () => {
    const exif = EXIF.filter(({ tag }) => tag !== 0x8827);
    const bytes = writeTiff({ ifd0: [...IFD0, short(0x17, 80)], exif, magic: 0x55 });
    expect((await read(bytes)).exposure.iso).toBe(80);
  });
  it.each([
    ['    :  :     :  :  ', /blank|not a date/],
    ['0000:00:00 00:00:00', /not a date/],
    ['2026:02:31 10:00:00', /not a date/],
    ['2026:05:16 25:00:00', /not a date/],
    ['                   ', /blank/],
  ])('date "%s" is unknown', async (text, because) => {
    const file = await read(jpeg({ 0x9003: ascii(0x9003, text) }));
    expect(file.exposure.capturedAt).toBeNull();
    expect(becauseOf(file, 'capturedAt')).toMatch(because);
  });
  it.each([
    { subSeconds: '5', offset: '-04:30', iso: '2026-05-16T10:20:30.5-04:30', afterMs: 500 + 4.5 * 3_600_000 },
    { subSeconds: '050  ', offset: '+00:00', iso: '2026-05-16T10:20:30.050+00:00', afterMs: 50 },
    { subSeconds: '   ', offset: '   :  ', iso: '2026-05-16T10:20:30', afterMs: 0 },
    { subSeconds: 'ab', offset: '+99:00', iso: '2026-05-16T10:20:30', afterMs: 0 },
  ])('sub-seconds "$subSeconds" and offset "$offset"', async ({ subSeconds, offset, iso, afterMs }) => {
    const { capturedAt } = (await read(jpeg({ 0x9291: ascii(0x9291, subSeconds), 0x9011: ascii(0x9011, offset) })))
      .exposure;
    expect(capturedAt?.iso).toBe(iso);
    expect(capturedAt?.epochMs).toBeCloseTo(Date.UTC(2026, 4, 16, 10, 20, 30) + afterMs, 6);
  });
  it('falls back to DateTimeDigitized and DateTime, saying so', async () => {
    const file = await read(jpeg({ 0x9003: null, 0x9004: ascii(0x9004, '2026:05:16 10:20:31') }));
    expect(file.exposure.capturedAt?.iso).toBe('2026-05-16T10:20:31');
    expect(file.notes.join()).toMatch(/dateTimeDigitized/);
  });
  it("DateTime's offset serves the original time only when both show the same clock", async () => {
    const offset = ascii(0x9010, '+02:00');
    const same = await read(jpeg({ 0x9011: null, 0x9010: offset }, [...IFD0, ascii(0x0132, '2026:05:16 10:20:30')]));
    expect(same.exposure.capturedAt?.offsetKnown).toBe(true);
    const edited = await read(jpeg({ 0x9011: null, 0x9010: offset }, [...IFD0, ascii(0x0132, '2026:05:17 08:00:00')]));
    expect(edited.exposure.capturedAt?.offsetKnown).toBe(false);
  });
  it('reserved orientations are 1, with a note', async () => {
    const file = await read(jpeg({}, [ascii(0x0110, 'MH-1'), short(0x0112, 9)]));
    expect(file.orientation).toBe(1);
    expect(file.notes.join()).toMatch(/orientation 9/);
  });
  it('values off any scale stay as written', async () => {
    const { exposure } = await read(jpeg({ 0x829d: rational(0x829d, 94, 10) }));
    expect(exposure.fNumber).toBe(9.4);
    expect(exposure.exact.fNumber).toBe(9.4);
  });
  it('reads nothing of the place, though the file has one', async () => {
    const gps = [
      ascii(1, 'N'),
      {
        tag: 2,
        type: 'rational',
        value: [
          [51, 1],
          [30, 1],
          [0, 1],
        ],
      } as TagValue,
      ascii(3, 'W'),
      {
        tag: 4,
        type: 'rational',
        value: [
          [1, 1],
          [30, 1],
          [0, 1],
        ],
      } as TagValue,
      ascii(0x17, 'T'),
    ];
    const tiff = writeTiff({ ifd0: IFD0, exif: EXIF, gps });
    // The fixture really holds it: a parser told to read places finds it.
    expect(await exifr.gps(jpegWithExif(tiff))).toEqual({ latitude: 51.5, longitude: -1.5 });
    const wanted = new Set<number>(Object.values(EXIF_TAG));
    for (const block of [tiff, jpegWithExif(tiff), pngWithExif(tiff)]) {
      const { tags } = await parseExif([block]);
      expect(tags.present.filter((tag) => !wanted.has(tag))).toEqual([]);
      expect(tags.has('rw2Iso')).toBe(false);
      expect(tags.has('fNumber')).toBe(true);
    }
  });
});

describe('readExposureData: hostile bytes', () => {
  const whole = [
    jpegWithExif(writeTiff({ ifd0: IFD0, exif: EXIF })),
    writeTiff({ ifd0: IFD0, exif: EXIF, magic: 0x4f52 }),
    rafAround(jpegWithExif(writeTiff({ ifd0: IFD0, exif: EXIF }))),
    mrwAround(writeTiff({ ifd0: IFD0, exif: EXIF })),
    cr3Around(writeTiff({ ifd0: IFD0 }), writeTiff({ ifd0: EXIF })),
  ];
  it('truncated anywhere: an answer that passes the contract', async () => {
    await fc.assert(
      fc.asyncProperty(
        fc.constantFrom(...whole),
        fc.double({ min: 0.05, max: 1, noNaN: true }),
        async (bytes, share) => {
          const cut = bytes.subarray(0, Math.max(20, Math.floor(bytes.length * share)));
          if (sniffFormat(cut) !== null) await read(Buffer.from(cut));
        },
      ),
      { numRuns: 200 },
    );
  });
  it('any bytes changed: an answer that passes the contract', async () => {
    const change = fc.tuple(fc.nat({ max: 2000 }), fc.nat({ max: 255 }));
    await fc.assert(
      fc.asyncProperty(
        fc.constantFrom(...whole),
        fc.array(change, { minLength: 1, maxLength: 12 }),
        async (bytes, changes) => {
          const copy = Buffer.from(bytes);
          for (const [at, byte] of changes) copy[at % copy.length] = byte;
          if (sniffFormat(copy) !== null) await read(copy);
        },
      ),
      { numRuns: 400 },
    );
  });
  it('headers that point nowhere give a reason', async () => {
    const raf = rafAround(jpegWithExif(writeTiff({})));
    raf.writeUInt32BE(0xffffff00, 84);
    expect(becauseOf(await read(raf), 'iso')).toMatch(/could not be read: the RAF header/);
    const mrw = Buffer.from('\0MRM\xff\xff\xff\xff\0PRD\xff\xff\xff\xff', 'latin1');
    expect(becauseOf(await read(mrw), 'iso')).toMatch(/no TTW block/);
    expect(becauseOf(await read(Buffer.from('FOVb\0\0\x02\0', 'latin1')), 'iso')).toMatch(/x3f files/);
  });
});

const SHARED = new URL('../../../shared/files/', import.meta.url);
describe.skipIf(!existsSync(SHARED))('real files against ExifTool 12.57 (skipped where ../shared is absent)', () => {
  it.each([
    ['Canon.jpg', 100, 4, 14, 0, '2003-12-04T06:46:52', 'Canon EOS DIGITAL REBEL', 1],
    ['Canon1DmkIII.jpg', 3200, 0.008, 5.6, 9, '2007-02-22T17:02:42.81', 'Canon EOS-1D Mark III', 1],
    ['CanonRaw.cr2', 400, 1 / 15, 8, 16, '2005-08-03T18:59:18', 'Canon EOS 350D DIGITAL', 1],
    ['DNG.dng', 400, 1 / 15, 8, 16, '2005-08-03T18:59:18', 'Canon EOS 350D DIGITAL', 1],
    ['FujiFilm.jpg', 100, 0.015625, 3.5, 1, '2001-05-19T18:36:41', 'FinePix2400Zoom', 1],
    ['FujiFilm.raf', 100, 0.004, 8, 16, '2007-05-22T13:58:30', 'FinePix S5Pro', 1],
    ['Minolta.mrw', 64, 0.2, 2.8, 16, '2004-11-18T23:14:58', 'DiMAGE A2', 1],
    ['Nikon.jpg', 100, 0.004686035614, 9.4, 0, '2001-08-01T12:57:23', 'E775', 1],
    ['Nikon.nef', 200, 0.05, 3.5, 0, '2004-06-09T16:02:35.00', 'NIKON D70', 1],
    ['NikonD70.jpg', null, 1 / 60, 5, 31, '2005-01-14T08:57:59.20', 'NIKON D70', 1],
    ['Olympus.jpg', 100, 1 / 30, 2, 1, '1999-12-06T16:38:40', 'C2000Z', 1],
    ['Panasonic.jpg', 80, 0.0025, 4, 16, '2004-08-28T15:55:46', 'DMC-FZ3', 1],
    ['Panasonic.rw2', 80, 0.004, 4, 16, '2008-08-06T15:21:56', 'DMC-LX3', 1],
    ['Pentax.jpg', 100, 0.01, 13, 16, '2008-03-02T12:01:23', 'PENTAX K10D', 8],
    ['PhaseOne.iiq', 100, 0.0008, 5.6, null, '2013-06-19T15:44:21', 'Credo 40', 1],
    ['Sony.jpg', 64, 0.004, 7.1, 16, '2003-12-18T13:51:33', 'DSC-F828', 1],
  ] as const)('%s', async (name, iso, time, fNumber, flash, capturedAt, model, orientation) => {
    const file = await read(readFileSync(new URL(`exiftool-t/${name}`, SHARED)));
    expect(file.exposure).toMatchObject({ iso, fNumber, cameraModel: model });
    expect(file.exposure.exposureTimeSeconds).toBeCloseTo(time, 8);
    expect(file.exposure.flash?.code ?? null).toBe(flash);
    expect(file.exposure.capturedAt?.iso).toBe(capturedAt);
    expect(file.orientation).toBe(orientation);
  });
  it.each([1, 2, 3, 4, 5, 6, 7, 8])('orientation %i', async (orientation) => {
    const file = await read(readFileSync(new URL(`orientation/Landscape_${orientation}.jpg`, SHARED)));
    expect(file.orientation).toBe(orientation);
  });
  it('HEIC: time with offset; its own boxes say how to stand', async () => {
    const file = await read(readFileSync(new URL('heif/kf_orient6.heic', SHARED)));
    expect(file.exposure.capturedAt?.iso).toBe('2025-02-25T10:25:59+01:00');
    expect(file.orientation).toBe(1);
  });
});
