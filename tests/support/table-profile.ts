import { descriptionTag, writeProfile } from './icc-writer.js';

/** CIE L*a*b* (D50) of the eight corners of the RGB cube, blue changing fastest; sRGB's, rounded. */
const CORNERS_LAB = [
  [0, 0, 0],
  [29.6, 68.3, -112],
  [87.8, -79.3, 81],
  [90.7, -50.7, -15],
  [54.3, 80.8, 69.9],
  [60.2, 93.5, -60.5],
  [97.6, -15.7, 93.4],
  [100, 0, 0],
] as const;

/** An RGB profile that describes colour by a table alone (lut8Type, ICC.1:2022 clause 10.11, from memory). */
export function tableProfile(description: string): Buffer {
  const identity = Buffer.from(Array.from({ length: 256 * 3 }, (_, index) => index % 256));
  const head = Buffer.alloc(48);
  head.write('mft1', 0, 'latin1');
  head.set([3, 3, 2, 0], 8);
  [1, 0, 0, 0, 1, 0, 0, 0, 1].forEach((cell, index) => head.writeInt32BE(cell * 65_536, 12 + index * 4));
  const cube = Buffer.from(
    CORNERS_LAB.flatMap(([lightness, a, b]) =>
      [(lightness * 255) / 100, a + 128, b + 128].map((v) => Math.max(0, Math.min(255, Math.round(v)))),
    ),
  );
  const lut = Buffer.concat([head, identity, cube, identity]);
  const tags = new Map([
    ['desc', descriptionTag(description)],
    ['A2B0', lut],
  ]);
  return writeProfile({ deviceSpace: 'RGB ', connectionSpace: 'Lab ', tags });
}
