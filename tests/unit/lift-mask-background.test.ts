import { readFile } from 'node:fs/promises';
import { expect, describe, it } from 'vitest';
import { REGION_CODES } from '../../src/contracts/jobs.js';
import { MeasuringOptions } from '../../src/contracts/options.js';
import { withoutBackgroundInside, type CodedPicture } from '../../src/render/lift-mask-background.js';
import { liftMask, maskGround } from '../../src/render/lift-mask.js';
import { measureFrame } from '../../worker/measure-frame.js';

const WIDTH = 300;
const HEIGHT = 600;
type Colour = readonly [number, number, number];
const WALL: Colour = [60, 64, 66];
const BLACK: Colour = [6, 6, 7];
const SKIN: Colour = [118, 80, 60];
/** Between the legs, from where it truly opens and from where the codes have it open. */
const GAP = { left: 146, right: 156, top: 330, codedTop: 352 };
const HEM = 450;

/** Two legs from 90 to 210, drawn by `colour`; the codes close the top of the gap and are 3 px too wide below the hem. */
function legs(colour: (x: number, y: number) => Colour, wall: (x: number, y: number) => Colour): CodedPicture {
  const codes = new Uint8Array(WIDTH * HEIGHT);
  const guide = [0, 1, 2].map(() => ({ widthPx: WIDTH, heightPx: HEIGHT, values: new Float32Array(WIDTH * HEIGHT) }));
  for (let y = 0; y < HEIGHT; y += 1) {
    for (let x = 0; x < WIDTH; x += 1) {
      const gap = (from: number): boolean => x >= GAP.left && x < GAP.right && y >= from;
      const wide = y >= HEM ? 3 : 0;
      if (y >= 250 && x >= 90 - wide && x < 210 + wide && !gap(GAP.codedTop)) {
        codes[y * WIDTH + x] = y < HEM ? REGION_CODES.thighCloth : REGION_CODES.shinSkin;
      }
      const shown = y >= 250 && x >= 90 && x < 210 && !gap(GAP.top) ? colour(x, y) : wall(x, y);
      // Grain of two codes, the same at every run.
      const grain = ((x * 7919 + y * 104_729) % 5) - 2;
      guide.forEach(({ values }, c) => (values[y * WIDTH + x] = ((shown[c] ?? 0) + grain) / 255));
    }
  }
  return { widthPx: WIDTH, heightPx: HEIGHT, codes, guide };
}
/** Shares of a rectangle that lost their code. */
function lost(picture: CodedPicture, left: number, top: number, right: number, bottom: number): number {
  const codes = withoutBackgroundInside(picture);
  let away = 0;
  for (let y = top; y < bottom; y += 1) {
    for (let x = left; x < right; x += 1) {
      if (picture.codes[y * WIDTH + x] !== REGION_CODES.background && codes[y * WIDTH + x] === REGION_CODES.background)
        away += 1;
    }
  }
  return away / ((right - left) * (bottom - top));
}
const flat = (colour: Colour) => (): Colour => colour;
const dressed = (cloth: Colour) => (_: number, y: number) => (y < HEM ? cloth : SKIN);

describe('background that was coded as a part of the person', () => {
  it('a gap between dark legs and a rim beside bare ones go, the legs stay', () => {
    const picture = legs(dressed(BLACK), flat(WALL));
    expect(lost(picture, GAP.left, GAP.top + 2, GAP.right, GAP.codedTop)).toBeGreaterThan(0.9);
    expect(lost(picture, 87, HEM + 10, 90, HEIGHT - 10)).toBeGreaterThan(0.9);
    expect(lost(picture, 91, 251, GAP.left - 1, HEIGHT)).toBe(0);
    expect(lost(picture, GAP.right + 1, 251, 209, HEIGHT)).toBe(0);
  });

  it('also before a wall that gets brighter upwards by half of its light', () => {
    const fading = (_: number, y: number): Colour => [90 - y / 20, 92 - y / 20, 94 - y / 20];
    expect(lost(legs(dressed(BLACK), fading), GAP.left, GAP.top + 2, GAP.right, GAP.codedTop)).toBeGreaterThan(0.9);
  });

  it.each([
    ['dark trousers before a dark wall', dressed([14, 14, 15]), flat([17, 17, 18])],
    ['grey trousers before the grey wall', dressed(WALL), flat(WALL)],
    ['trousers that fade into the wall on their dark side', (x: number): Colour => [x / 2 - 20, x / 2 - 18, x / 2 - 16], flat([26, 28, 30])], // prettier-ignore
  ] as const)('%s stay whole', (_, colour, wall) => {
    const picture = legs(colour, wall);
    expect(lost(picture, 90, 251, GAP.left, HEM)).toBeLessThan(0.01);
    expect(lost(picture, GAP.right, 251, 210, HEM)).toBeLessThan(0.01);
  });

  it('faces and shoes are left as they are coded', () => {
    const picture = legs(dressed(BLACK), flat(WALL));
    for (const code of [REGION_CODES.faceSkin, REGION_CODES.foot]) {
      const other = { ...picture, codes: picture.codes.map((one) => (one === REGION_CODES.background ? one : code)) };
      expect(withoutBackgroundInside(other)).toEqual(other.codes);
    }
  });

  it('on a frame of the sample shoot: the wall between the legs is not raised with them', async () => {
    const bytes = await readFile(new URL('../../samples/shoot/MKR_0046.jpg', import.meta.url));
    const { products } = await measureFrame(bytes, MeasuringOptions.parse({}));
    const ground = await maskGround(products);
    const { values } = liftMask(ground, 'lower-body', []);
    // Places read off the picture: the gap is open from 0.53 of the height on.
    const at = (x: number, y: number): number =>
      values[Math.round(y * ground.heightPx) * ground.widthPx + Math.round(x * ground.widthPx)] ?? Number.NaN;
    for (const y of [0.55, 0.57, 0.6, 0.65]) {
      expect(at(0.498, y)).toBeLessThan(0.3);
      expect(at(0.44, y)).toBeGreaterThan(0.8);
      expect(at(0.55, y)).toBeGreaterThan(0.8);
    }
  }, 30_000);
});
