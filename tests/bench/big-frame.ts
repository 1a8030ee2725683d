import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { seededRandom } from '../../samples/make/random.js';
import { sharp } from '../../worker/decode/sharp-setup.js';

export interface BigFrame {
  widthPx: number;
  heightPx: number;
  quality: number;
  /** Standard deviation of the grain, in codes. */
  grainCodes: number;
}

/** 24 megapixels, as smooth as an enlarged picture is: 2.5 MB, the cheapest to decode. */
export const SMOOTH: BigFrame = { widthPx: 4000, heightPx: 6000, quality: 90, grainCodes: 3 };
/** 24 megapixels in as many bytes as cameras write at their finest setting. */
export const CAMERA_SIZED: BigFrame = { ...SMOOTH, quality: 95, grainCodes: 8 };
export const LARGE: BigFrame = { ...SMOOTH, widthPx: 5480, heightPx: 8220 };

/** A camera-like JPEG with one person, full length: a sample frame enlarged, with grain. 4:2:0. */
export async function bigFrame({ widthPx: width, heightPx: height, quality, grainCodes }: BigFrame): Promise<Buffer> {
  const source = readFileSync(fileURLToPath(new URL('../../samples/shoot/MKR_0001.jpg', import.meta.url)));
  const data = await sharp(source).resize(width, height, { kernel: 'cubic' }).removeAlpha().raw().toBuffer();
  const random = seededRandom('grain');
  const grain = Int8Array.from({ length: 65_521 }, () => Math.round(grainCodes * random.normal()));
  for (let i = 0; i < data.length; i++) data[i] = Math.min(255, Math.max(0, data[i]! + grain[i % grain.length]!));
  return sharp(data, { raw: { width, height, channels: 3 } })
    .jpeg({ quality, chromaSubsampling: '4:2:0' })
    .toBuffer();
}

/** One row of `people` sample figures, and one of them alone in a frame of the same size: 24 megapixels. */
export async function groupFrame(people: number): Promise<{ group: Buffer; one: Buffer }> {
  const [width, height] = [6000, 4000];
  const figure = readFileSync(fileURLToPath(new URL('../../samples/shoot/MKR_0001.jpg', import.meta.url)));
  const wide = Math.floor(width / people);
  const cut = await sharp(figure).resize(wide, height, { fit: 'cover', position: 'centre' }).toBuffer();
  const background = await sharp(figure)
    .extract({ left: 0, top: 0, width: 8, height: 8 })
    .resize(width, height)
    .toBuffer();
  const at = (places: number[]) =>
    sharp(background)
      .composite(places.map((place) => ({ input: cut, left: place * wide, top: 0 })))
      .jpeg({ quality: 92 })
      .toBuffer();
  return {
    group: await at(Array.from({ length: people }, (_, place) => place)),
    one: await at([people >> 1]),
  };
}
