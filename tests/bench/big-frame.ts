import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { seededRandom } from '../../samples/make/random.js';
import { sharp } from '../../worker/decode/sharp-setup.js';

/** A 24-megapixel camera-like JPEG with one person, full length: a sample frame enlarged, with grain. 4000 x 6000. */
export async function bigFrame(): Promise<Buffer> {
  const source = readFileSync(fileURLToPath(new URL('../../samples/shoot/MKR_0001.jpg', import.meta.url)));
  const [width, height] = [4000, 6000];
  const data = await sharp(source).resize(width, height, { kernel: 'cubic' }).removeAlpha().raw().toBuffer();
  const random = seededRandom('grain');
  const grain = Int8Array.from({ length: 65_521 }, () => Math.round(3 * random.normal()));
  for (let i = 0; i < data.length; i++) data[i] = Math.min(255, Math.max(0, data[i]! + grain[i % grain.length]!));
  return sharp(data, { raw: { width, height, channels: 3 } })
    .jpeg({ quality: 90, chromaSubsampling: '4:2:0' })
    .toBuffer();
}
