import exifr from 'exifr';
import sharp from 'sharp';
import { describe, expect, it } from 'vitest';
import { CAMERA_CURVES, CAMERA_CURVE_NAMES } from '../../samples/make/camera-curves.js';
import { castGains } from '../../samples/make/cast.js';
import { exactSettings, exposureFactors, settingsStops } from '../../samples/make/exposure.js';
import { resampleIds } from '../../samples/make/framing.js';
import { seededRandom } from '../../samples/make/random.js';
import { SENSOR_FULL, linearToSrgbCode8 } from '../../samples/make/sensor.js';
import { PART, STUDIO_PRESENT, loadRender } from '../../samples/make/studio.js';
import { bracketFrames, plainFrame, renderFrame, renderFrameWithTruth } from '../../samples/make/virtual-camera.js';

/** IEC 61966-2-1, the other way round from the camera's own encoder. */
function srgbCode8ToLinear(code: number): number {
  const v = code / 255;
  return v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4;
}

describe('camera curves', () => {
  it.each(CAMERA_CURVE_NAMES)('%s keeps mid-grey at sRGB code 118 and has the slope that it states', (name) => {
    const curve = CAMERA_CURVES[name];
    // 18 % encodes as 117.6 by IEC 61966-2-1.
    expect(linearToSrgbCode8(curve.toFileLinear(0.18))).toBe(118);
    const step = 1e-4;
    const slope = Math.log2(curve.toFileLinear(0.18 * 2 ** step) / curve.toFileLinear(0.18 * 2 ** -step)) / (2 * step);
    expect(slope).toBeCloseTo(curve.slopeAtMid, 3);
  });

  it.each(CAMERA_CURVE_NAMES)('%s is monotone, starts at 0, reaches 1 and inverts', (name) => {
    const curve = CAMERA_CURVES[name];
    expect(curve.toFileLinear(0)).toBe(0);
    expect(curve.toFileLinear(SENSOR_FULL * 1.01)).toBeCloseTo(1, 6);
    let previous = 0;
    for (let stops = -9; stops <= 3; stops += 0.05) {
      const y = curve.toFileLinear(0.18 * 2 ** stops);
      expect(y).toBeGreaterThanOrEqual(previous);
      previous = y;
      if (y > 0 && y < 1) expect(Math.log2(curve.toExposure(y) / 0.18)).toBeCloseTo(stops, 6);
    }
  });
});

describe('light and settings', () => {
  it('snaps nominal settings to the exact scale', () => {
    // Exact values of the nominal series: f/11 = 2^(7/2), 1/60 = 1/64, ISO 160 = 100 * 2^(2/3).
    const exact = exactSettings({ fNumber: 11, shutterDenominator: 60, iso: 160 });
    expect(exact.fNumber).toBeCloseTo(11.3137, 4);
    expect(exact.exposureTimeSeconds).toBeCloseTo(1 / 64, 9);
    expect(exact.iso).toBeCloseTo(158.74, 2);
  });

  it('lets the shutter change continuous light only', () => {
    const a = { fNumber: 8, shutterDenominator: 125, iso: 100 };
    const b = { fNumber: 5.6, shutterDenominator: 250, iso: 100 };
    expect(settingsStops(a, b, 1)).toBeCloseTo(0, 9);
    expect(settingsStops(a, b, 0)).toBeCloseTo(1, 9);
  });

  it('leaves the hall lamps when the flash is silent', () => {
    const metered = { fNumber: 8, shutterDenominator: 125, iso: 100 };
    const factors = exposureFactors(metered, { metered, powerStops: null, faceMeanStops: 0, ambientStops: -5 });
    expect(factors.flash).toBe(0);
    expect(Math.log2(factors.ambient)).toBeCloseTo(-5, 9);
    const fired = exposureFactors(metered, { metered, powerStops: 0, faceMeanStops: 0, ambientStops: -5 });
    expect(fired.flash + fired.ambient).toBeCloseTo(1, 9);
  });

  it('warms at unchanged luminance', () => {
    const [red, green, blue] = castGains(60);
    expect(red).toBeGreaterThan(green);
    expect(green).toBeGreaterThan(blue);
    expect(0.2126 * red + 0.7152 * green + 0.0722 * blue).toBeCloseTo(1, 9);
  });

  it('repeats its noise and has mean 0, deviation 1', () => {
    const a = seededRandom('x');
    const b = seededRandom('x');
    const values = Array.from({ length: 20_000 }, () => a.normal());
    expect(values.slice(0, 5)).toEqual(Array.from({ length: 5 }, () => b.normal()));
    const mean = values.reduce((s, v) => s + v, 0) / values.length;
    expect(Math.abs(mean)).toBeLessThan(0.03);
    expect(values.reduce((s, v) => s + v * v, 0) / values.length).toBeCloseTo(1, 1);
  });
});

describe.skipIf(!STUDIO_PRESENT)('frames (skipped where ../shared is absent)', () => {
  it('writes what the truth says: undoing its own curve gives the face level back', async () => {
    for (const powerStops of [-1, 0]) {
      const plain = plainFrame('cole-front');
      const spec = plainFrame('cole-front', { light: { ...plain.light, powerStops } });
      const { jpeg, truth } = await renderFrameWithTruth(spec);
      const { data, info } = await sharp(jpeg).raw().toBuffer({ resolveWithObject: true });
      const render = await loadRender('cole-front');
      const parts = resampleIds(render.parts, render, spec.framing);
      let sum = 0;
      let pixels = 0;
      parts.forEach((part, i) => {
        if (part !== PART.face) return;
        const [r, g, b] = [0, 1, 2].map((c) => CAMERA_CURVES.hall.toExposure(srgbCode8ToLinear(data[i * 3 + c] ?? 0)));
        sum += 0.2126 * (r ?? 0) + 0.7152 * (g ?? 0) + 0.0722 * (b ?? 0);
        pixels++;
      });
      expect(info.width).toBe(640);
      expect(truth.facePixels).toBe(pixels);
      expect(Math.abs(Math.log2(sum / pixels / 0.18) - (truth.faceLevelStops ?? NaN))).toBeLessThan(0.04);
    }
  }, 60_000);

  it('agrees with the truth of the render itself', async () => {
    // ada-front.truth.json: mean face luminance 0.42433, faceToLegs light 1.2821, left to right 0.2263.
    const { truth } = await renderFrameWithTruth(plainFrame('ada-front'));
    expect(truth.faceLightStops).toBeCloseTo(0, 1);
    expect(truth.faceLevelStops).toBeCloseTo(Math.log2(0.42433 / 0.18), 2);
    expect(Math.abs((truth.faceToLegsLightStops ?? NaN) - 1.2821)).toBeLessThan(0.05);
    expect(Math.abs((truth.faceLeftToRightLightStops ?? NaN) - 0.2263)).toBeLessThan(0.05);
  }, 60_000);

  it('adds a second lamp as light is added', async () => {
    // One stop under the first on the face: 1 + 0.5 = log2(1.5) = 0.585 stops more; frontal fill lessens the contrast.
    const one = await renderFrameWithTruth(plainFrame('ada-side45'));
    const scene = { sameWall: false, lowFillStops: 0, secondLight: { light: 'front', stops: -1 } };
    const two = await renderFrameWithTruth(plainFrame('ada-side45', { scene }));
    const brighter = (two.truth.faceLightStops ?? NaN) - (one.truth.faceLightStops ?? NaN);
    expect(Math.abs(brighter - Math.log2(1.5))).toBeLessThan(0.02);
    expect(two.truth.faceLeftToRightLightStops).toBeLessThan((one.truth.faceLeftToRightLightStops ?? NaN) - 0.5);
  }, 60_000);

  it('writes Exif that a reader understands, and stands stored-turned frames upright', async () => {
    const jpeg = await renderFrame(plainFrame('ada-front', { storedOrientation: 8 }));
    const tags = (await exifr.parse(jpeg, { translateValues: false, reviveValues: false })) as Record<string, unknown>;
    expect(tags).toMatchObject({
      Make: 'Village Hall Cameras',
      FNumber: 8,
      ExposureTime: 1 / 125,
      ISO: 100,
      Orientation: 8,
    });
    expect(tags).toMatchObject({
      DateTimeOriginal: '2026:05:16 10:00:00',
      SubSecTimeOriginal: '00',
      OffsetTimeOriginal: '+01:00',
    });
    expect(tags).toMatchObject({
      LensModel: 'Trestle 50-110mm F4',
      SerialNumber: 'VH-000417',
      Flash: 9,
      ExposureProgram: 1,
    });
    const stored = await sharp(jpeg).metadata();
    expect([stored.width, stored.height]).toEqual([960, 640]);
    const upright = await sharp(jpeg).autoOrient().greyscale().raw().toBuffer();
    const plain = await sharp(await renderFrame(plainFrame('ada-front')))
      .greyscale()
      .raw()
      .toBuffer();
    let difference = 0;
    upright.forEach((code, i) => (difference += Math.abs(code - (plain[i] ?? 0))));
    expect(difference / upright.length).toBeLessThan(2);
  }, 60_000);

  it('makes the same bytes twice, and brackets whose Exif states the true steps', async () => {
    const frames = await bracketFrames('soft-toe', [-2, 0, 1], { render: 'dina-front' });
    const again = await bracketFrames('soft-toe', [-2], { render: 'dina-front' });
    expect(frames[0]?.jpeg.equals(again[0]?.jpeg ?? Buffer.alloc(0))).toBe(true);
    const times = await Promise.all(
      frames.map(async (f) => ((await exifr.parse(f.jpeg)) as { ExposureTime: number }).ExposureTime),
    );
    expect(times).toEqual([1 / 500, 1 / 125, 1 / 60]);
    expect((frames[2]?.truth.faceLevelStops ?? NaN) - (frames[0]?.truth.faceLevelStops ?? NaN)).toBeCloseTo(3, 6);
  }, 60_000);
});
