import sharp from 'sharp';
import { beforeAll, describe, expect, it } from 'vitest';
import { REGION_CODES } from '../../src/contracts/jobs.js';
import { encodeLiftMask } from '../../src/render/lift-mask-file.js';
import { blurred, boxMean, guidedFilter, type Field } from '../../src/render/lift-mask-filters.js';
import { liftMask, maskGround, type MaskGround } from '../../src/render/lift-mask.js';

const WIDTH = 200;
const HEIGHT = 300;

/** A standing figure: face, trunk, legs to the feet; the drawn edges lie 1 px inside those of the codes. */
function codeAt(x: number, y: number): number {
  if (x < 70 || x >= 130 || y < 20) return REGION_CODES.background;
  if (y < 60) return x < 80 || x >= 120 ? REGION_CODES.personOther : REGION_CODES.faceSkin;
  if (y < 150) return REGION_CODES.torso;
  return y < 200 ? REGION_CODES.thighCloth : y < 270 ? REGION_CODES.shinSkin : REGION_CODES.foot;
}
const EYE = { x: 90, y: 35 };

async function ground(): Promise<MaskGround> {
  const codes = Buffer.alloc(WIDTH * HEIGHT);
  const picture = Buffer.alloc(WIDTH * HEIGHT * 3, 40);
  for (let y = 0; y < HEIGHT; y += 1) {
    for (let x = 0; x < WIDTH; x += 1) {
      const eye = Math.hypot(x - EYE.x, y - EYE.y) < 5;
      codes[y * WIDTH + x] = eye ? REGION_CODES.personOther : codeAt(x, y);
      if (x >= 71 && x < 129 && y >= 20) picture.fill(180, (y * WIDTH + x) * 3, (y * WIDTH + x) * 3 + 3);
    }
  }
  return maskGround({
    previewJpeg: await sharp(picture, { raw: { width: WIDTH, height: HEIGHT, channels: 3 } })
      .jpeg({ quality: 95 })
      .toBuffer(),
    regionsPng: await sharp(codes, { raw: { width: WIDTH, height: HEIGHT, channels: 1 } })
      .png()
      .toBuffer(),
  });
}
const at = (mask: Field, x: number, y: number): number => mask.values[y * mask.widthPx + x] ?? Number.NaN;
const FACE: [number, number][] = [[80 / WIDTH, 20 / HEIGHT], [120 / WIDTH, 20 / HEIGHT], [120 / WIDTH, 60 / HEIGHT], [80 / WIDTH, 60 / HEIGHT]]; // prettier-ignore

describe('lift masks', () => {
  let figure: MaskGround;
  beforeAll(async () => {
    figure = await ground();
  });

  it('lower body: whole on the legs, fading into the trunk, nothing on the face or beside the person', () => {
    const mask = liftMask(figure, 'lower-body', []);
    expect(at(mask, 100, 240)).toBeGreaterThan(0.99);
    expect(at(mask, 100, 285)).toBeGreaterThan(0.99);
    expect(at(mask, 100, 150)).toBeCloseTo(0.5, 1);
    const down = [110, 130, 150, 170, 200].map((y) => at(mask, 100, y));
    expect([...down].sort((a, b) => a - b)).toEqual(down);
    expect(at(mask, 100, 40)).toBeLessThan(0.001);
    expect(at(mask, 30, 240)).toBe(0);
  });

  it('a hand that hangs beside the thighs is not of the lower body, however near it is', () => {
    // An arm from the shoulder down to the thighs, 5 px of wall between.
    const arm = (x: number, y: number): boolean => (x >= 135 && x < 150 && y >= 65 && y < 190) || (x >= 130 && x < 150 && y >= 65 && y < 80); // prettier-ignore
    const codes = figure.codes.map((code, i) => (arm(i % WIDTH, Math.floor(i / WIDTH)) ? REGION_CODES.personOther : code)); // prettier-ignore
    const mask = liftMask({ ...figure, codes }, 'lower-body', []);
    for (const y of [100, 130, 150, 170, 189]) expect(at(mask, 142, y), `hand at ${y}`).toBeLessThan(0.01);
    // The trunk and the legs are lifted as without it.
    const without = liftMask(figure, 'lower-body', []);
    for (const y of [120, 140, 160, 240]) expect(at(mask, 100, y)).toBeCloseTo(at(without, 100, y), 1);
    expect(at(mask, 126, 180)).toBeGreaterThan(0.8);
  });

  it('follows the edge of the picture where the codes overshoot it', () => {
    const mask = liftMask(figure, 'lower-body', []);
    // Column 70 belongs to the person by its code and to the wall by the picture.
    const grey = { widthPx: WIDTH, heightPx: HEIGHT, values: new Float32Array(WIDTH * HEIGHT).fill(0.5) };
    const unguided = liftMask({ ...figure, guide: [grey, grey, grey] }, 'lower-body', []);
    expect(at(mask, 70, 240)).toBeLessThan(0.5);
    expect(at(mask, 72, 240)).toBeGreaterThan(0.7);
    const step = (m: Field): number => at(m, 72, 240) - at(m, 70, 240);
    expect(step(mask)).toBeGreaterThan(1.3 * step(unguided));
  });

  it('face: eyes are no holes in it; background: the opposite of the person', () => {
    const face = liftMask(figure, 'face', FACE);
    expect(at(face, EYE.x, EYE.y)).toBeGreaterThan(0.9);
    expect(at(face, 100, 120)).toBeLessThan(0.01);
    const background = liftMask(figure, 'background', []);
    expect(at(background, 20, 100)).toBe(1);
    expect(at(background, 100, 100)).toBe(0);
  });

  it('of a frame without such a region is empty', () => {
    const nobody = { ...figure, codes: new Uint8Array(WIDTH * HEIGHT) };
    expect(Math.max(...liftMask(nobody, 'lower-body', []).values)).toBe(0);
  });

  it.each([
    ['png', 8, 255],
    ['png', 16, 65_535],
    ['tiff', 8, 255],
    ['tiff', 16, 65_535],
  ] as const)('as %s of %i bits: frame size, grey, shares proportional to codes', async (format, depth, most) => {
    const values = Float32Array.from({ length: 4 * 4 }, (_, i) => (i % 4 < 2 ? 0.25 : 1));
    const bytes = await encodeLiftMask({ widthPx: 4, heightPx: 4, values }, { format, depth, size: { widthPx: 403, heightPx: 301 } }); // prettier-ignore
    const { width, height, channels, depth: read, format: kind } = await sharp(bytes).metadata();
    expect([width, height, channels, read, kind]).toEqual([403, 301, 1, depth === 8 ? 'uchar' : 'ushort', format]);
    const raw = await sharp(bytes).toColourspace(depth === 8 ? 'b-w' : 'grey16').raw({ depth: depth === 8 ? 'uchar' : 'ushort' }).toBuffer(); // prettier-ignore
    const codes = depth === 8 ? raw : new Uint16Array(raw.buffer, raw.byteOffset, raw.length / 2);
    expect(codes[150 * 403 + 20]! / most).toBeCloseTo(0.25, 2);
    expect(codes[150 * 403 + 390]! / most).toBeCloseTo(1, 2);
  });
});

describe('filters', () => {
  const field = (widthPx: number, heightPx: number, value: (x: number, y: number) => number): Field => ({
    widthPx,
    heightPx,
    values: Float32Array.from({ length: widthPx * heightPx }, (_, i) => value(i % widthPx, Math.floor(i / widthPx))),
  });

  it.each([0, 1, 3, 40])('a box mean of radius %i is the mean of the window, cut at the edges', (r) => {
    const picture = field(17, 11, (x, y) => Math.sin(x * 1.7 + y * 0.9));
    const out = boxMean(picture, r);
    for (const [x, y] of [
      [0, 0],
      [8, 5],
      [16, 10],
      [3, 10],
    ] as const) {
      // prettier-ignore
      let sum = 0;
      let n = 0;
      for (let v = Math.max(0, y - r); v <= Math.min(10, y + r); v += 1) {
        for (let u = Math.max(0, x - r); u <= Math.min(16, x + r); u += 1) {
          sum += picture.values[v * 17 + u]!;
          n += 1;
        }
      }
      expect(out[y * 17 + x]).toBeCloseTo(sum / n, 5);
    }
  });

  it('a blur keeps flat parts flat and spreads a point by its standard deviation', () => {
    expect(
      Math.max(
        ...blurred(
          field(40, 40, () => 0.7),
          6,
        ),
      ),
    ).toBeCloseTo(0.7, 5);
    const spread = blurred(
      field(101, 1, (x) => (x === 50 ? 1 : 0)),
      6,
    );
    const variance = spread.reduce((sum, v, x) => sum + v * (x - 50) ** 2, 0);
    expect(Math.sqrt(variance)).toBeCloseTo(6, 0);
  });

  it('a guided filter with a flat guide is a mean of means, and keeps a mask that the guide shows', () => {
    const mask = field(60, 8, (x) => (x < 30 ? 0 : 1));
    const flat = [0, 1, 2].map(() => field(60, 8, () => 0.5));
    const soft = guidedFilter(mask, flat, 5, 1e-4);
    const means = boxMean({ ...mask, values: boxMean(mask, 5) }, 5);
    soft.forEach((v, i) => {
      expect(v).toBeCloseTo(means[i]!, 4);
    });
    // Seen in one channel only.
    const seen = [mask, ...flat.slice(1)];
    guidedFilter(mask, seen, 5, 1e-6).forEach((v, i) => {
      expect(v).toBeCloseTo(mask.values[i]!, 3);
    });
  });
});
