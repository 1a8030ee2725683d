import type { FrameProducts } from '../../src/contracts/jobs.js';
import { sharp } from '../decode/sharp-setup.js';
import { nearestCodes } from './nearest-codes.js';
import type { WorkingImage } from './working-image.js';

/** Dark previews are raised to be looked at, and would show what an ordinary JPEG leaves out of the blacks; they stay small. */
const DARK = { codesUpTo: 48, share: 0.95 } as const;

function isDark(rgb8: Uint8Array): boolean {
  const enough = (1 - DARK.share) * rgb8.length;
  let bright = 0;
  for (let i = 0; i < rgb8.length && bright < enough; i++) if (rgb8[i]! > DARK.codesUpTo) bright++;
  return bright < enough;
}

/** The preview JPEG and the region codes, both upright and of one size. */
export async function productsOf(
  image: WorkingImage,
  regions: Uint8Array,
  previewLongEdgePx: number,
): Promise<FrameProducts> {
  const { widthPx: width, heightPx: height } = image;
  const { data: previewJpeg, info } = await sharp(image.rgb8, { raw: { width, height, channels: 3 } })
    .resize({ width: previewLongEdgePx, height: previewLongEdgePx, fit: 'inside', withoutEnlargement: true })
    .jpeg(isDark(image.rgb8) ? { quality: 97, chromaSubsampling: '4:4:4' } : { quality: 82 })
    .toBuffer({ resolveWithObject: true });
  const codes = nearestCodes(regions, width, height, info.width, info.height);
  const regionsPng = await sharp(codes, { raw: { width: info.width, height: info.height, channels: 1 } })
    .toColourspace('b-w')
    .png()
    .toBuffer();
  return { previewJpeg, regionsPng };
}
