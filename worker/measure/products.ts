import type { FrameProducts } from '../../src/contracts/jobs.js';
import { sharp } from '../decode/sharp-setup.js';
import type { WorkingImage } from './working-image.js';

/** The preview JPEG and the region codes, both upright and of one size. */
export async function productsOf(
  image: WorkingImage,
  regions: Uint8Array,
  previewLongEdgePx: number,
): Promise<FrameProducts> {
  const { widthPx: width, heightPx: height } = image;
  const size = {
    width: previewLongEdgePx,
    height: previewLongEdgePx,
    fit: 'inside',
    withoutEnlargement: true,
  } as const;
  const [preview, codes] = await Promise.all([
    sharp(image.rgb8, { raw: { width, height, channels: 3 } })
      .resize(size)
      .jpeg({ quality: 82 })
      .toBuffer(),
    sharp(regions, { raw: { width, height, channels: 1 } })
      .resize({ ...size, kernel: 'nearest' })
      .toColourspace('b-w')
      .png()
      .toBuffer(),
  ]);
  return { previewJpeg: preview, regionsPng: codes };
}
