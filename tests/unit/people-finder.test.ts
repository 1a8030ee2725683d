import path from 'node:path';
import sharp from 'sharp';
import { beforeAll, describe, expect, it } from 'vitest';
import { createPeopleFinder } from '../../worker/people/finder.js';
import type { PeopleFinder } from '../../worker/people/port.js';

const FIXTURES = path.resolve(import.meta.dirname, '../fixtures/people');

async function picture(name: string) {
  const { data, info } = await sharp(path.join(FIXTURES, name))
    .removeAlpha()
    .raw()
    .toBuffer({ resolveWithObject: true });
  return { rgb8: new Uint8Array(data), widthPx: info.width, heightPx: info.height };
}

describe('people finder', () => {
  let finder: PeopleFinder;
  beforeAll(async () => {
    finder = await createPeopleFinder();
  });

  for (const name of ['ada-front.jpg', 'cole-side45.jpg']) {
    it(`finds the one standing figure of ${name}, head at the top and feet at the bottom`, async () => {
      const image = await picture(name);
      const people = await finder.find(image);
      expect(people).toHaveLength(1);
      const { face, body } = people[0]!;
      // By eye: the head's middle stands at about (0.5, 0.12) of the frame, the feet at 0.92.
      expect(face!.score).toBeGreaterThan(0.5);
      expect((face!.boxPx.x + face!.boxPx.width / 2) / image.widthPx).toBeCloseTo(0.5, 1);
      expect((face!.boxPx.y + face!.boxPx.height / 2) / image.heightPx).toBeGreaterThan(0.08);
      expect((face!.boxPx.y + face!.boxPx.height / 2) / image.heightPx).toBeLessThan(0.2);
      const heights = [0, 11, 23, 25, 27].map((i) => body!.landmarks[i]!.y / image.heightPx);
      expect([...heights].sort((a, b) => a - b)).toEqual(heights);
      expect(heights.at(-1)).toBeGreaterThan(0.85);
      const { mask } = body!;
      const maskShare = mask.logits.filter((logit) => logit > 0).length / (image.widthPx * image.heightPx);
      expect(maskShare).toBeGreaterThan(0.12);
      expect(maskShare).toBeLessThan(0.35);
      // The figure stands in the middle: the corner is no part of its rectangle.
      expect(Math.min(mask.x, mask.y)).toBeGreaterThan(0);
      expect(mask.logits).toHaveLength(mask.widthPx * mask.heightPx);
    });
  }

  it('finds the same figure five stops under', async () => {
    const image = await picture('ada-front.jpg');
    const linear = (c: number) => (c / 255 <= 0.04045 ? c / 255 / 12.92 : ((c / 255 + 0.055) / 1.055) ** 2.4) / 32;
    const code = (v: number) => Math.round(255 * (v <= 0.0031308 ? v * 12.92 : 1.055 * v ** (1 / 2.4) - 0.055));
    const people = await finder.find({ ...image, rgb8: image.rgb8.map((c) => code(linear(c))) });
    expect(people).toHaveLength(1);
    expect(people[0]!.face).not.toBeNull();
    expect(people[0]!.body).not.toBeNull();
  });

  it('finds seven figures side by side, and the bodies of six at least', async () => {
    const [wide, heightPx] = [214, 1000];
    const sample = path.resolve(import.meta.dirname, '../../samples/shoot/MKR_0001.jpg');
    const figure = await sharp(sample).resize(wide, heightPx, { fit: 'cover' }).raw().toBuffer();
    const rgb8 = new Uint8Array(7 * figure.length);
    for (let y = 0; y < heightPx; y++)
      for (let place = 0; place < 7; place++)
        rgb8.set(figure.subarray(3 * y * wide, 3 * (y + 1) * wide), 3 * (7 * y + place) * wide);
    const image = { rgb8, widthPx: 7 * wide, heightPx };
    const people = (await finder.find(image)).sort((one, other) => one.face!.boxPx.x - other.face!.boxPx.x);
    expect(people).toHaveLength(7);
    // One figure a seventh of the frame, each upright.
    people.forEach(({ face, body }, place) => {
      const middles = [face!.boxPx.x + face!.boxPx.width / 2];
      if (body) middles.push(body.landmarks[0]!.x, (body.landmarks[23]!.x + body.landmarks[24]!.x) / 2);
      for (const x of middles) expect(Math.abs(x / wide - place - 0.5)).toBeLessThan(0.35);
    });
    expect(people.filter(({ body }) => body !== null).length).toBeGreaterThanOrEqual(6);
  });

  it('finds nobody on a plain wall and gives equal answers to calls made at once', async () => {
    const plain = { rgb8: new Uint8Array(300 * 200 * 3).fill(140), widthPx: 300, heightPx: 200 };
    const image = await picture('cole-side45.jpg');
    const [none, first, second] = await Promise.all([finder.find(plain), finder.find(image), finder.find(image)]);
    expect(none).toEqual([]);
    expect(second).toEqual(first);
  });

  it('refuses pixels that do not fill the frame', async () => {
    await expect(finder.find({ rgb8: new Uint8Array(10), widthPx: 300, heightPx: 200 })).rejects.toThrow(/300 x 200/);
  });
});
