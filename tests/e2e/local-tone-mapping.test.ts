import { beforeAll, describe, expect, it } from 'vitest';
import { plainFrame, renderFrame } from '../../samples/make/virtual-camera.js';
import { STUDIO_PRESENT } from '../../samples/make/studio.js';
import { MeasuringOptions } from '../../src/contracts/options.js';
import { ShootPlan } from '../../src/contracts/plan.js';
import type { FlagCode, ShootReport } from '../../src/contracts/report.js';
import { renderReportHtml } from '../../src/render/html.js';
import { judgeShoot } from '../../src/shoot/judge.js';
import {
  ASSUMED_CAMERA_UNCERTAINTY_STOPS,
  LOCAL_TONE_MAPPING_UNCERTAINTY_STOPS,
} from '../../src/photometry/tone-response.js';
import { sharp } from '../../worker/decode/sharp-setup.js';
import { measureFrame } from '../../worker/measure-frame.js';
import { jpegWithExifInserted, writeTiff } from '../support/exif-writer.js';

const OPTIONS = MeasuringOptions.parse({});

/** Exif of a frame taken at a second of one minute, all settings alike. */
function exifOf(make: string, second: number): Buffer {
  return writeTiff({
    ifd0: [
      { tag: 0x010f, type: 'ascii', value: make },
      { tag: 0x0110, type: 'ascii', value: 'One' },
    ],
    exif: [
      { tag: 0x829a, type: 'rational', value: [[1, 125]] },
      { tag: 0x829d, type: 'rational', value: [[80, 10]] },
      { tag: 0x8827, type: 'short', value: [100] },
      { tag: 0x9003, type: 'ascii', value: `2026:05:16 10:00:${String(second).padStart(2, '0')}` },
      { tag: 0x9209, type: 'short', value: [16] },
    ],
  });
}

const flat = () =>
  sharp({ create: { width: 64, height: 48, channels: 3, background: '#777777' } })
    .jpeg()
    .toBuffer();

describe('makers whose cameras map tones locally, read from the file', () => {
  it.each(['Apple', 'samsung', 'Google', 'Xiaomi', 'OPPO'])('%s: the wider uncertainty, and why', async (make) => {
    const { measurement } = await measureFrame(jpegWithExifInserted(await flat(), exifOf(make, 0)), OPTIONS);
    expect(measurement.exposure.cameraMake).toBe(make);
    expect(measurement.toneResponse).toMatchObject({
      source: 'assumed',
      uncertaintyStops: LOCAL_TONE_MAPPING_UNCERTAINTY_STOPS,
    });
    expect(measurement.toneResponse.because).toContain(`cameras by ${make} map tones locally`);
  });

  it.each(['Village Hall Cameras', 'Applegate Optics'])('%s is a camera like others', async (make) => {
    const { measurement } = await measureFrame(jpegWithExifInserted(await flat(), exifOf(make, 0)), OPTIONS);
    expect(measurement.toneResponse.uncertaintyStops).toBe(ASSUMED_CAMERA_UNCERTAINTY_STOPS);
  });

  it('on request plain files of a phone are taken as plain', async () => {
    const plain = MeasuringOptions.parse({ toneResponse: 'none' });
    const { measurement } = await measureFrame(jpegWithExifInserted(await flat(), exifOf('Apple', 0)), plain);
    expect(measurement.toneResponse).toMatchObject({ source: 'none', uncertaintyStops: 0 });
  });
});

const OF_THE_LEVEL: readonly FlagCode[] = ['level-off-baseline', 'light-changed', 'light-short', 'light-missing'];

describe.skipIf(!STUDIO_PRESENT)('what that means in a report (skipped where ../shared is absent)', () => {
  /** Seven frames alike but one, whose lamp stands four tenths of a stop lower. */
  const POWERS = [0, 0, 0, -0.42, 0, 0, 0];
  let jpegs: Buffer[];

  beforeAll(async () => {
    jpegs = await Promise.all(
      POWERS.map((powerStops, index) => {
        const plain = plainFrame('ada-front');
        return renderFrame({ ...plain, light: { ...plain.light, powerStops }, exif: null, seed: `phone ${index}` });
      }),
    );
  }, 60_000);

  async function reportFor(make: string): Promise<ShootReport> {
    const frames = [];
    for (const [index, jpeg] of jpegs.entries()) {
      const { measurement } = await measureFrame(jpegWithExifInserted(jpeg, exifOf(make, index * 5)), OPTIONS);
      frames.push({ name: `${index}.jpg`, measurement, failure: null, measurementHref: null });
    }
    return judgeShoot({ shoot: { id: 'phone', name: 'Phone' }, plan: ShootPlan.parse({}), frames });
  }

  it('four tenths of a stop are off for a camera, to be looked at for a phone, and the report says why', async () => {
    const [camera, phone] = [await reportFor('Village Hall Cameras'), await reportFor('Apple')];
    // What is said of the level: the figure's own legs, lit less than the face in every frame, are another matter.
    const levels = (report: ShootReport) =>
      report.frames.map(({ flags }) => flags.find(({ code }) => OF_THE_LEVEL.includes(code))?.severity ?? null);
    expect(levels(camera)).toEqual(POWERS.map((power) => (power === 0 ? null : 'fault')));
    expect(levels(phone)).toEqual(POWERS.map((power) => (power === 0 ? null : 'check')));
    for (const { toneResponse } of phone.frames) expect(toneResponse?.because).toMatch(/Apple map tones locally/);
    expect(phone.summary.toneResponse).toContain(LOCAL_TONE_MAPPING_UNCERTAINTY_STOPS.toFixed(2));
    expect(phone.summary.toneResponse).toContain('no one curve exists');
    expect(camera.summary.toneResponse).not.toContain('no one curve');
    expect(camera.summary.toneResponse).not.toContain(LOCAL_TONE_MAPPING_UNCERTAINTY_STOPS.toFixed(2));
    expect(renderReportHtml(phone)).toMatch(/7 frames: [^<]*cameras by Apple map tones locally/);
  }, 60_000);
});
