import { existsSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { ExposureData } from '../../src/contracts/exposure.js';
import type { LibRawMetadata } from 'libraw-wasm/dist/libraw.js';
import { withLibRaw } from '../../worker/decode/libraw-module.js';
import { makerExposureOf } from '../../worker/decode/raw-exposure.js';
import { exposureFromTags } from '../../worker/read/exposure-from-tags.js';
import { ExifTagSet } from '../../worker/read/exif-tag-set.js';
import { withMakerExposure } from '../../worker/read/maker-exposure.js';

const folder = fileURLToPath(new URL('../../../shared/files/', import.meta.url));
const nothingWritten = () => exposureFromTags(new ExifTagSet(new Map())).exposure;
const header = (more: object): LibRawMetadata =>
  ({ iso_speed: 0, shutter: 1, aperture: 1, camera_make: '', camera_model: '', ...more }) as LibRawMetadata;

describe("exposure from a raw's own data, where the standard tags say nothing", () => {
  it('fills what is missing, exact values and APEX with it, and says so', () => {
    const maker = makerExposureOf(header({ iso_speed: 400, shutter: 1 / 60, aperture: 7.99, camera_model: 'Trestle' }));
    const { exposure, notes } = withMakerExposure(nothingWritten(), maker);
    expect(ExposureData.parse(exposure)).toEqual(exposure);
    // APEX (Exif 2.3 annex C): f/8 is Av 6, 1/60 s (exactly 1/64) Tv 6, ISO 400 Sv 7; EV100 = 6 + 6 - 2.
    expect([exposure.tv, exposure.sv]).toEqual([6, 7]);
    expect(exposure.av).toBeCloseTo(6, 6);
    expect(exposure.ev100).toBeCloseTo(10, 6);
    expect(notes).toEqual([
      "Taken from the maker's own data in the raw file: fNumber, exposureTimeSeconds, iso, cameraModel.",
    ]);
    expect(exposure.missing.map(({ field }) => field)).toEqual(['flash', 'capturedAt']);
  });

  it('takes the serial number of the body, where it can be one', () => {
    const serial = (BodySerial: string) =>
      makerExposureOf(header({ iso_speed: 100, shootinginfo: { BodySerial } }))?.cameraSerial;
    expect(serial('12345678')).toBe('12345678');
    for (const none of ['', '0', '00000000', '\u0001\u0002', 'x'.repeat(200)]) expect(serial(none)).toBeNull();
  });

  it('changes nothing that the tags say', () => {
    const written = {
      ...nothingWritten(),
      iso: 100,
      fNumber: 4,
      exposureTimeSeconds: 0.5,
      cameraMake: 'A',
      cameraModel: 'B',
    };
    const maker = makerExposureOf(
      header({ iso_speed: 800, shutter: 2, aperture: 2, camera_make: 'C', camera_model: 'D' }),
    );
    expect(withMakerExposure(written, maker)).toEqual({ exposure: written, notes: [] });
  });

  it.each([
    ['no ISO speed: the 1 second and f/1 beside it are placeholders', {}],
    ['a saturated ISO speed', { iso_speed: 65_535 }],
    ['no numbers at all', { iso_speed: Number.NaN, shutter: Number.POSITIVE_INFINITY, aperture: -1 }],
  ])('%s: nothing is believed', (_, values) => {
    expect(makerExposureOf(header(values))).toBeNull();
  });
});

describe.skipIf(!existsSync(folder))('raws of others (skipped where ../shared is absent)', () => {
  const read = (name: string) =>
    withLibRaw((libraw) => {
      libraw.open(readFileSync(`${folder}${name}`), {});
      return makerExposureOf(libraw.metadata(true));
    });

  it('a CRW keeps no Exif: ISO 100, 1/60 s, f/3.5 come from its own directories', async () => {
    const { exposure } = withMakerExposure(nothingWritten(), await read('exiftool-t/CanonRaw.crw'));
    expect(exposure).toMatchObject({ iso: 100, cameraModel: 'EOS 300D' });
    expect(exposure.exact.exposureTimeSeconds).toBe(1 / 64);
    // f/3.5 of the third-stop scale: Av 3 2/3.
    expect(exposure.av).toBeCloseTo(11 / 3, 6);
  });

  it('NEF: the serial number that the maker wrote (ExifTool says 12345678)', async () => {
    const { exposure } = withMakerExposure(nothingWritten(), await read('exiftool-t/Nikon.nef'));
    expect(exposure.cameraSerial).toBe('12345678');
  });

  it('a DNG that a camera add-on wrote without exposure data gives none', async () => {
    const maker = await read('dng/colorchart.dng');
    expect(maker).toMatchObject({ iso: null, exposureTimeSeconds: null, fNumber: null });
  });
});
