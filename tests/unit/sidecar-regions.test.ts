import sharp from 'sharp';
import { describe, expect, it } from 'vitest';
import { storedPoint } from '../../src/render/sidecar-regions.js';

describe('points of the upright frame in the stored one', () => {
  it.each([1, 2, 3, 4, 5, 6, 7, 8])('orientation %i, as sharp stands pictures upright', async (orientation) => {
    // One white pixel in a stored picture of 6 x 4; sharp turns it upright by its Exif orientation.
    const stored = { x: 4, y: 1, width: 6, height: 4 };
    const pixels = Buffer.alloc(stored.width * stored.height);
    pixels[stored.y * stored.width + stored.x] = 255;
    const tagged = await sharp(pixels, { raw: { width: stored.width, height: stored.height, channels: 1 } })
      .withMetadata({ orientation })
      .png()
      .toBuffer();
    const { data, info } = await sharp(tagged).autoOrient().greyscale().raw().toBuffer({ resolveWithObject: true });
    const at = data.indexOf(255) / info.channels;
    const upright = [
      ((at % info.width) + 0.5) / info.width,
      (Math.floor(at / info.width) + 0.5) / info.height,
    ] as const;
    const [x, y] = storedPoint(orientation, upright);
    expect(x).toBeCloseTo((stored.x + 0.5) / stored.width, 9);
    expect(y).toBeCloseTo((stored.y + 0.5) / stored.height, 9);
  });
});
