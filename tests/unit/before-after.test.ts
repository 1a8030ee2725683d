import sharp from 'sharp';
import { describe, expect, it } from 'vitest';
import type { Correction } from '../../src/contracts/correction.js';
import type { CorrectedFrame } from '../../src/contracts/report.js';
import { REGION_CODES } from '../../src/contracts/jobs.js';
import { srgbCode8ToLinear } from '../../src/photometry/srgb.js';
import { ASSUMED_CAMERA_CURVE } from '../../src/photometry/tone-response.js';
import { beforeAfterJpeg, correctedPreview } from '../../src/render/before-after.js';
import { correctionWords } from '../../src/render/correction-words.js';
import { castGains } from '../../src/render/before-after-cast.js';
import { previewResponse } from '../../src/render/before-after-response.js';
import { fakeMeasurement } from '../support/measurement.js';
import { fakeCorrectedFrame } from '../support/report.js';

const WIDTH = 120;
const HEIGHT = 80;
const GREY = 90;
const base: Correction = { step: 'level', region: 'frame', stops: null, mired: null, duv: null, toward: 'set-up', limitedBy: null, because: 'x' }; // prettier-ignore

async function products(codes = Buffer.alloc(WIDTH * HEIGHT)) {
  return {
    previewJpeg: await sharp({ create: { width: WIDTH, height: HEIGHT, channels: 3, background: { r: GREY, g: GREY, b: GREY } } }).jpeg({ quality: 95 }).toBuffer(), // prettier-ignore
    regionsPng: await sharp(codes, { raw: { width: WIDTH, height: HEIGHT, channels: 1 } })
      .png()
      .toBuffer(),
  };
}
function frameWith(corrections: Correction[], source: 'none' | 'assumed' = 'none'): CorrectedFrame {
  const frame = fakeCorrectedFrame({ name: 'P1.JPG', verdict: 'off' });
  return { ...frame, corrections, toneResponse: { source, slopeAtMid: 1, uncertaintyStops: 0.1, because: 'x' } };
}
const measurement = fakeMeasurement({});
const pixel = (picture: { data: Buffer; widthPx: number }, x: number, y: number): number[] => [
  ...picture.data.subarray((y * picture.widthPx + x) * 3, (y * picture.widthPx + x) * 3 + 3),
];
const light = (code8: number): number => srgbCode8ToLinear(code8);

describe('corrections applied to a preview', () => {
  it.each([-2, -0.5, 1, 1.5])('a level of %f stops is that in linear light, through no curve', async (stops) => {
    const frame = frameWith([{ ...base, stops }]);
    const after = await correctedPreview({ frame, measurement, products: await products(), calibrations: [] });
    for (const code of pixel(after, 60, 40)) expect(Math.log2(light(code) / light(GREY))).toBeCloseTo(stops, 1);
  });

  it('is that in the light before the camera’s curve, not in the file', async () => {
    const frame = frameWith([{ ...base, stops: 1 }], 'assumed');
    const after = await correctedPreview({ frame, measurement, products: await products(), calibrations: [] });
    const scene = (code: number): number => ASSUMED_CAMERA_CURVE.toScene(light(code));
    const [code = 0] = pixel(after, 60, 40);
    expect(Math.log2(scene(code) / scene(GREY))).toBeCloseTo(1, 1);
    expect(Math.log2(light(code) / light(GREY))).toBeGreaterThan(1.2);
  });

  it('a lift reaches its region only', async () => {
    const codes = Buffer.from(Array.from({ length: WIDTH * HEIGHT }, (_, i) => (i % WIDTH < 60 ? REGION_CODES.shinSkin : REGION_CODES.background))); // prettier-ignore
    const frame: CorrectedFrame = {
      ...frameWith([{ ...base, step: 'lift', region: 'lower-body', stops: 1, toward: 'face' }]),
      lifts: [{ region: 'lower-body', stops: 1, because: 'x', limitedBy: null, outline: [] }],
    };
    const after = await correctedPreview({ frame, measurement, products: await products(codes), calibrations: [] });
    expect(Math.log2(light(pixel(after, 20, 40)[0] ?? 0) / light(GREY))).toBeCloseTo(1, 1);
    expect(pixel(after, 100, 40)).toEqual([GREY, GREY, GREY]);
  });

  it('a cast of more mired warms, of more Duv greens, at unchanged luminance', () => {
    const [r, g, b] = castGains(50, 0);
    expect(r).toBeGreaterThan(g);
    expect(g).toBeGreaterThan(b);
    // IEC 61966-2-1: luminance of linear sRGB.
    expect(0.2126 * r + 0.7152 * g + 0.0722 * b).toBeCloseTo(1, 2);
    const [r2, g2, b2] = castGains(0, 0.01);
    expect(g2).toBeGreaterThan(Math.max(r2, b2));
    expect(castGains(0, 0)).toEqual([1, 1, 1]);
  });

  it('a frame that the report does not correct has none', async () => {
    const input = { frame: frameWith([]), measurement, products: await products(), calibrations: [] };
    await expect(beforeAfterJpeg(input, 100)).rejects.toMatchObject({ code: 'no-such-advice' });
    const broken = { previewJpeg: Buffer.from('no JPEG'), regionsPng: Buffer.from('') };
    await expect(correctedPreview({ ...input, frame: frameWith([{ ...base, stops: 1 }]), products: broken })).rejects.toMatchObject({ code: 'frame-corrupt' }); // prettier-ignore
  });

  it('both halves stand in one JPEG with an sRGB profile', async () => {
    const frame = frameWith([{ ...base, stops: 1 }, { ...base, step: 'cast', mired: -61, duv: 0.0031 }]); // prettier-ignore
    expect(correctionWords(frame)).toBe('+1.00 stops, −61 mired, +0.003 Duv');
    const tinted = frameWith([{ ...base, step: 'cast', mired: 0.4, duv: -0.0031 }]);
    expect(correctionWords(tinted)).toBe('−0.003 Duv');
    const jpeg = await beforeAfterJpeg({ frame, measurement, products: await products(), calibrations: [] }, 1024);
    const { width = 0, height = 0, icc, format } = await sharp(jpeg).metadata();
    expect([format, width > 2 * WIDTH, height > HEIGHT]).toEqual(['jpeg', true, true]);
    // ICC.1:2010, 7.2: "acsp" at byte 36, "RGB " at 16.
    expect([icc?.toString('latin1', 36, 40), icc?.toString('latin1', 16, 20)]).toEqual(['acsp', 'RGB ']);
    const { data, info } = await sharp(jpeg).raw().toBuffer({ resolveWithObject: true });
    const code = (x: number): number => data[(40 * info.width + x) * info.channels + 1] ?? 0;
    expect(Math.abs(code(60) - GREY)).toBeLessThan(4);
    expect(Math.log2(light(code(info.width - 60)) / light(GREY))).toBeCloseTo(1, 0);
  });
});

describe('the response of a preview', () => {
  const response = (source: 'scene' | 'learned' | 'calibrated', slopeAtMid: number) => ({ source, slopeAtMid, uncertaintyStops: 0.05, because: 'x' }); // prettier-ignore

  it('learned: the assumed curve bent to the slope that was learned, and its own inverse', () => {
    const curve = previewResponse(measurement, response('learned', 1.6), []);
    const h = 0.01;
    const slope = (Math.log2(curve.toFile(0.18 * 2 ** h)) - Math.log2(curve.toFile(0.18 * 2 ** -h))) / (2 * h);
    expect(slope).toBeCloseTo(1.6, 2);
    for (const y of [0.001, 0.02, 0.18, 0.5, 0.9]) expect(curve.toFile(curve.toScene(y))).toBeCloseTo(y, 6);
    expect(curve.toScene(0.18)).toBeCloseTo(0.18, 9);
  });

  it('calibrated: the calibration of that camera and slope where it is kept', () => {
    const knots = { fileLinear: [0.001, 0.18, 1], sceneLinear: [0.01, 0.18, 0.6] };
    const { cameraMake, cameraModel } = measurement.exposure;
    const key = { cameraMake: cameraMake ?? '', cameraModel: cameraModel ?? '', rendering: 'x' };
    const kept = { key, knots, method: 'x', residualStops: 0, uncertaintyStops: 0.05, frames: 5, spanStops: 4 };
    const bent = previewResponse(measurement, response('calibrated', 1.4), [kept]);
    expect(bent.toScene(0.001)).not.toBeCloseTo(0.01, 4);
    const own = previewResponse(measurement, response('calibrated', slopeOf(knots)), [kept]);
    expect(own.toScene(0.001)).toBeCloseTo(0.01, 6);
    expect(own.toScene(1)).toBeCloseTo(0.6, 6);
  });

  it('raw: the curve that its preview was made with', () => {
    expect(previewResponse(measurement, response('scene', 1), [])).toBe(ASSUMED_CAMERA_CURVE);
  });
});

/** Log-log slope about the middle knot over ±0.05 stop of light, by hand: the mean of both pieces' inverses. */
function slopeOf({ fileLinear: f, sceneLinear: s }: { fileLinear: number[]; sceneLinear: number[] }): number {
  const log = (v: number | undefined): number => Math.log2(v ?? 1);
  const below = (log(s[1]) - log(s[0])) / (log(f[1]) - log(f[0]));
  const above = (log(s[2]) - log(s[1])) / (log(f[2]) - log(f[1]));
  return 2 / (below + above);
}
