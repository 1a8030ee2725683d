import { describe, expect, it } from 'vitest';
import { sharp } from '../../worker/decode/sharp-setup.js';
import { nearestCodes } from '../../worker/measure/nearest-codes.js';

/** Codes 0 to 9 in discs and stripes, so that every neighbour matters somewhere. */
function plane(width: number, height: number): Uint8Array {
  return Uint8Array.from({ length: width * height }, (_, i) => {
    const [x, y] = [i % width, Math.floor(i / width)];
    return Math.hypot(x - width / 3, y - height / 2) < height / 4 ? 9 : Math.floor((x + 2 * y) / 17) % 9;
  });
}

describe('codes at another size', () => {
  it('takes the code under the middle of each cell', () => {
    // Three cells a cell: the middle one. Upwards: each code twice.
    expect([...nearestCodes(Uint8Array.of(1, 2, 3, 4, 5, 6), 6, 1, 2, 1)]).toEqual([2, 5]);
    expect([...nearestCodes(Uint8Array.of(1, 2, 3, 4), 2, 2, 4, 2)]).toEqual([1, 1, 2, 2, 3, 3, 4, 4]);
  });

  it('leaves a plane of the same size alone', () => {
    const codes = plane(30, 20);
    expect(nearestCodes(codes, 30, 20, 30, 20)).toBe(codes);
  });

  // The image library's own nearest neighbour rounds a cell whose middle lies on a border another way.
  it.each([
    [1200, 800, 1024, 683],
    [800, 1200, 427, 640],
  ])('%i x %i at %i x %i agrees with the image library but for a cell in a thousand', async (w, h, outW, outH) => {
    const codes = plane(w, h);
    const theirs = await sharp(codes, { raw: { width: w, height: h, channels: 1 } })
      .resize(outW, outH, { kernel: 'nearest', fit: 'fill' })
      .toColourspace('b-w')
      .raw()
      .toBuffer();
    const ours = nearestCodes(codes, w, h, outW, outH);
    expect(ours.length).toBe(theirs.length);
    expect(ours.filter((code, i) => code !== theirs[i]).length).toBeLessThan(ours.length / 1000);
  });
});
