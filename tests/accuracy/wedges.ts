import sharp from 'sharp';
import { MeasuringOptions } from '../../src/contracts/options.js';
import { linearToSrgbEncoded } from '../../src/photometry/srgb.js';
import { SATURATION_LINEAR } from '../../worker/decode/decode-raw.js';
import { measureFrame } from '../../worker/measure-frame.js';
import { seededRandom } from '../../samples/make/random.js';
import { mosaicOf, writeDng } from '../support/dng-writer.js';
import { worst, type AccuracyRow } from './row.js';

const OPTIONS = MeasuringOptions.parse({ findPeople: false, toneResponse: 'none' });
const SIZE_PX = 96;

async function levelStops(bytes: Buffer): Promise<number> {
  const { measurement } = await measureFrame(bytes, OPTIONS);
  return measurement.tone.meanLevelStops ?? -Infinity;
}

/** A flat 8-bit grey of a level between codes: each pixel is one of the two nearest, in proportion of light. */
function ditheredGrey(linear: number): Buffer {
  const code = 255 * linearToSrgbEncoded(linear);
  const lower = Math.floor(code);
  const decode = (c: number) => (c / 255 <= 0.04045 ? c / 255 / 12.92 : ((c / 255 + 0.055) / 1.055) ** 2.4);
  const share = (linear - decode(lower)) / (decode(lower + 1) - decode(lower));
  const random = seededRandom(`wedge ${linear}`);
  const data = Buffer.alloc(SIZE_PX * SIZE_PX * 3);
  for (let i = 0; i < data.length; i += 3) data.fill(random.uniform() < share ? lower + 1 : lower, i, i + 3);
  return data;
}

const raw = { width: SIZE_PX, height: SIZE_PX, channels: 3 as const };

export async function wedgeRows(): Promise<AccuracyRow[]> {
  const jpeg: number[] = [];
  const tiff: number[] = [];
  for (let stops = -6; stops <= 2; stops += 0.5) {
    const linear = 0.18 * 2 ** stops;
    const bytes = await sharp(ditheredGrey(linear), { raw })
      .jpeg({ quality: 98, chromaSubsampling: '4:4:4' })
      .toBuffer();
    jpeg.push((await levelStops(bytes)) - stops);
    const code = Math.round(65535 * linearToSrgbEncoded(linear));
    const flat = new Uint16Array(SIZE_PX * SIZE_PX * 3).fill(code);
    const sixteen = await sharp(flat, { raw }).toColourspace('rgb16').tiff({ compression: 'none' }).toBuffer();
    tiff.push((await levelStops(sixteen)) - stops);
  }
  const dng: number[] = [];
  for (let stops = 0; stops >= -6; stops -= 0.5) {
    const share = 0.9 * 2 ** stops;
    const mosaic = mosaicOf(SIZE_PX, SIZE_PX, 512, 15871, () => [share, share, share]);
    const bytes = writeDng({
      mosaic,
      widthPx: SIZE_PX,
      heightPx: SIZE_PX,
      blackLevel: 512,
      whiteLevel: 15871,
      neutral: [1, 1, 1],
    });
    dng.push((await levelStops(bytes)) - Math.log2((share * SATURATION_LINEAR) / 0.18));
  }
  const row = (what: string, values: number[], goal: number, truth: string): AccuracyRow => ({
    section: 'wedges',
    what,
    measured: worst(values),
    goal,
    unit: 'stop, worst',
    sense: 'most',
    truth,
  });
  return [
    row('8-bit sRGB JPEG, -6..+2 stops in halves', jpeg, 0.03, 'IEC 61966-2-1 (sRGB) formula'),
    row('16-bit sRGB TIFF, -6..+2 stops in halves', tiff, 0.01, 'IEC 61966-2-1 (sRGB) formula'),
    row('DNG mosaic, 0..-6 stops under near-saturation', dng, 0.02, 'codes proportional to light (DNG 1.4)'),
    ...(await chartRows()),
  ];
}

/** Luminance Y of the 24-patch chart's grey row, charts after November 2014, from the published L* (D50). */
const GREY_ROW_Y = [0.8807, 0.59, 0.3649, 0.1906, 0.0882, 0.0315];
/** Printed stops re 18 %: +2.291 +1.713 +1.019 +0.083 -1.030 -2.514. */
const GREY_ROW_STOPS = [2.291, 1.713, 1.019, 0.083, -1.03, -2.514];

async function chartRows(): Promise<AccuracyRow[]> {
  const errors: number[] = [];
  for (const [i, y] of GREY_ROW_Y.entries()) {
    const bytes = await sharp(ditheredGrey(y), { raw }).png().toBuffer();
    errors.push((await levelStops(bytes)) - GREY_ROW_STOPS[i]!);
  }
  return [
    {
      section: 'wedges',
      what: '24-patch chart, the six greys rendered and measured back',
      measured: worst(errors),
      goal: 0.01,
      unit: 'stop, worst',
      sense: 'most',
      truth: 'published L* of the grey row after Nov 2014 (colour-science data set, BabelColor averages)',
    },
  ];
}
