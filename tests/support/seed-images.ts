import { sharp } from '../../worker/decode/sharp-setup.js';
import { mosaicOf, writeDng } from './dng-writer.js';

const WIDTH_PX = 160;
const HEIGHT_PX = 120;

/** A busy picture that compresses badly enough for cuts to fall inside image data. */
export function busyPixels(channels: 1 | 3 | 4, widthPx = WIDTH_PX, heightPx = HEIGHT_PX): Uint8Array {
  const pixels = new Uint8Array(widthPx * heightPx * channels);
  let state = 0x2545f491;
  for (let index = 0; index < pixels.length; index += 1) {
    state = (Math.imul(state, 1_664_525) + 1_013_904_223) >>> 0;
    const slope = Math.floor(index / channels) % widthPx;
    pixels[index] = (slope + (state >>> 25)) & 255;
  }
  return pixels;
}

const picture = (channels: 1 | 3 | 4 = 3): ReturnType<typeof sharp> =>
  sharp(busyPixels(channels), { raw: { width: WIDTH_PX, height: HEIGHT_PX, channels } });

const picture16 = (channels: 1 | 3): ReturnType<typeof sharp> => {
  const pixels = Uint16Array.from(
    busyPixels(channels),
    (code, index) => code * 257 - (index % 2 && code > 0 ? 100 : 0),
  );
  return sharp(pixels, { raw: { width: WIDTH_PX, height: HEIGHT_PX, channels } });
};

/** A small DNG of a ramp. */
export function seedDng(): Buffer {
  const [widthPx, heightPx, blackLevel, whiteLevel] = [64, 48, 256, 16_000];
  const mosaic = mosaicOf(widthPx, heightPx, blackLevel, whiteLevel, (x, y) => [x / 80, (x + y) / 120, y / 60]);
  return writeDng({ mosaic, widthPx, heightPx, blackLevel, whiteLevel, neutral: [0.5, 1, 0.7] });
}

/** Whole files of every format, made on the spot: name -> bytes. */
export const SEEDS = {
  jpeg: () =>
    picture()
      .jpeg({ quality: 85 })
      .withExif({ IFD0: { Make: 'Hall' } })
      .toBuffer(),
  'progressive jpeg': () => picture().jpeg({ progressive: true }).toBuffer(),
  'grey jpeg': () => picture(1).toColourspace('b-w').jpeg().toBuffer(),
  'cmyk jpeg': () => picture().toColourspace('cmyk').jpeg().toBuffer(),
  png: () => picture().png().toBuffer(),
  'interlaced png': () => picture().png({ progressive: true }).toBuffer(),
  'palette png': () => picture().png({ palette: true, colours: 16 }).toBuffer(),
  '1-bit png': () => picture(1).threshold(128).toColourspace('b-w').png({ palette: true, colours: 2 }).toBuffer(),
  '16-bit png': () => picture16(3).toColourspace('rgb16').png().toBuffer(),
  '16-bit grey png': () => picture16(1).toColourspace('grey16').png().toBuffer(),
  'png with alpha': () => picture(4).png().toBuffer(),
  'plain tiff': () => picture().tiff({ compression: 'none' }).toBuffer(),
  'lzw tiff': () => picture().tiff({ compression: 'lzw' }).toBuffer(),
  '16-bit tiff': () => picture16(3).toColourspace('rgb16').tiff({ compression: 'none' }).toBuffer(),
  '1-bit tiff': () =>
    picture(1).threshold(128).toColourspace('b-w').tiff({ bitdepth: 1, compression: 'none' }).toBuffer(),
  webp: () => picture().webp().toBuffer(),
  'lossless webp': () => picture().webp({ lossless: true }).toBuffer(),
  avif: () => picture().avif({ effort: 0 }).toBuffer(),
  gif: () => picture().gif({ effort: 1 }).toBuffer(),
  dng: async () => seedDng(),
} satisfies Record<string, () => Promise<Buffer>>;

export type SeedName = keyof typeof SEEDS;
export const SEED_SIZE_PX = { widthPx: WIDTH_PX, heightPx: HEIGHT_PX };
