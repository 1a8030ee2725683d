import { expect, it } from 'vitest';
import { findClippedAreas } from '../../src/render/clipped-areas.js';
import { largestConnectedArea } from '../../worker/measure/connected-area.js';

const cells = (rows: string[]) => ({
  data: Float32Array.from(rows.join('').split(''), (c) => (c === '#' ? 1 : c === '+' ? 0.5 : c === '.' ? 0 : 0.4)),
  w: rows[0]!.length,
  h: rows.length,
});

it('finds the largest of several, by its pixels, without diagonals', () => {
  const { data, w, h } = cells(['##...', '##..#', '..#.#', '.....']);
  expect(largestConnectedArea(data, w, h)).toEqual({ share: 4 / 20, box: { x: 0, y: 0, width: 2 / 5, height: 2 / 4 } });
});

it('weighs half-clipped cells by half and leaves out less', () => {
  const { data, w, h } = cells(['+-', '#-']);
  expect(largestConnectedArea(data, w, h).share).toBeCloseTo(1.5 / 4, 10);
});

it('says nothing where nothing is clipped', () => {
  expect(largestConnectedArea(new Float32Array(6), 3, 2)).toEqual({ share: 0, box: null });
});

it('takes a checkerboard of a million areas', () => {
  const n = 1400;
  const data = Float32Array.from({ length: n * n }, (_, i) => ((i % n) + Math.floor(i / n)) % 2);
  expect(largestConnectedArea(data, n, n).share).toBeCloseTo(1 / (n * n), 12);
});

it('takes a preview that is a checkerboard of a million clipped pixels, and leaves them out where only larger areas count', () => {
  const n = 1400;
  const rgb = Uint8Array.from({ length: n * n * 3 }, (_, i) => {
    const pixel = Math.floor(i / 3);
    return ((pixel % n) + Math.floor(pixel / n)) % 2 === 0 ? 255 : 0;
  });
  const size = { widthPx: n, heightPx: n };
  const found = (leastAreaShare: number) => findClippedAreas(rgb, size, { fromCode8: 255, clippedShare: 0.5, leastAreaShare }); // prettier-ignore
  expect(found(0).areas).toBe((n * n) / 2);
  expect(found(2 / (n * n))).toMatchObject({ areas: 0 });
});
