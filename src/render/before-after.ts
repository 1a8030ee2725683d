import sharp from 'sharp';
import type { FrameProducts } from '../contracts/jobs.js';
import type { CameraCalibration } from '../contracts/calibration.js';
import type { FrameMeasurement } from '../contracts/measurement.js';
import type { CorrectedFrame } from '../contracts/report.js';
import { StopledgerError, asStopledgerError } from '../errors.js';
import { linearToSrgbCode8Rounded, srgbCodeTable } from '../photometry/srgb.js';
import type { ToneCurve } from '../photometry/tone-response.js';
import { D65, castGains } from './before-after-cast.js';
import { previewResponse } from './before-after-response.js';
import { correctionWords } from './correction-words.js';
import { liftMask, maskGround } from './lift-mask.js';
import { labelPath } from './overlay-font.js';

export interface CorrectedInput {
  frame: CorrectedFrame;
  measurement: FrameMeasurement;
  products: FrameProducts;
  calibrations: readonly CameraCalibration[];
}

interface Rgb8Picture {
  data: Buffer;
  widthPx: number;
  heightPx: number;
}

/** Whether there is anything to show. */
export const hasCorrection = (frame: CorrectedFrame): boolean => frame.corrections.length > 0;

/**
 * The preview with the report's corrections applied in linear light: the tone response undone, level, cast and
 * feathered lifts as gains, the tone response done again. What the file clipped stays lost.
 *
 * @throws StopledgerError `no-such-advice` when the report corrects nothing, `frame-corrupt` for a broken preview
 */
export async function correctedPreview(input: CorrectedInput): Promise<Rgb8Picture> {
  const { frame, measurement, products, calibrations } = input;
  if (!hasCorrection(frame) || frame.toneResponse === null) {
    throw new StopledgerError('no-such-advice', `the report corrects nothing in frame ${JSON.stringify(frame.name)}`);
  }
  const { data, widthPx, heightPx } = await decoded(products.previewJpeg);
  const stops = await stopsByPixel(input, widthPx, heightPx);
  const curve = previewResponse(measurement, frame.toneResponse, calibrations);
  applyGains(data, stops, castOf(frame, measurement), curve);
  return { data, widthPx, heightPx };
}

async function decoded(jpeg: Uint8Array): Promise<Rgb8Picture> {
  try {
    const { data, info } = await sharp(jpeg)
      .toColourspace('srgb')
      .removeAlpha()
      .raw()
      .toBuffer({ resolveWithObject: true });
    return { data, widthPx: info.width, heightPx: info.height };
  } catch (error) {
    throw asStopledgerError(error, 'frame-corrupt');
  }
}

function castOf(frame: CorrectedFrame, { colour }: FrameMeasurement): readonly [number, number, number] {
  const step = frame.corrections.find((one) => one.step === 'cast');
  const { backgroundMired, backgroundDuv, neutral } = colour;
  const grey = {
    mired: backgroundMired ?? neutral.mired ?? D65.mired,
    duv: (backgroundMired === null ? neutral.duv : backgroundDuv) ?? D65.duv,
  };
  return step === undefined ? [1, 1, 1] : castGains(step.mired ?? 0, step.duv ?? 0, grey);
}

async function stopsByPixel(input: CorrectedInput, widthPx: number, heightPx: number): Promise<Float32Array> {
  const { frame, products } = input;
  const level = frame.corrections.find(({ step }) => step === 'level')?.stops ?? 0;
  const stops = new Float32Array(widthPx * heightPx).fill(level);
  if (frame.lifts.length === 0) return stops;
  const ground = await maskGround(products);
  if (ground.widthPx !== widthPx || ground.heightPx !== heightPx) {
    throw new StopledgerError(
      'frame-corrupt',
      `regions of ${ground.widthPx} × ${ground.heightPx} pixels do not fit a preview of ${widthPx} × ${heightPx}`,
    );
  }
  for (const lift of frame.lifts) {
    if (lift.region === 'frame') continue;
    const { values } = liftMask(ground, lift.region, lift.outline);
    values.forEach((share, i) => (stops[i] = (stops[i] ?? 0) + share * lift.stops));
  }
  return stops;
}

const TABLE_STEPS = 8192;
/** Light above this is white through any curve. */
const MOST_LINEAR = 64;

function applyGains(data: Buffer, stops: Float32Array, cast: readonly number[], curve: ToneCurve): void {
  const linear = srgbCodeTable(255);
  const scene = linear.map((y) => curve.toScene(y));
  // Curve and encoding in one table over the fourth root of light, fine enough for 8 bits down to the blacks.
  const codes = Uint8Array.from({ length: TABLE_STEPS + 1 }, (_, i) =>
    linearToSrgbCode8Rounded(curve.toFile((i / TABLE_STEPS) ** 4 * MOST_LINEAR)),
  );
  for (let i = 0; i < stops.length; i += 1) {
    const gain = 2 ** (stops[i] ?? 0);
    for (let c = 0; c < 3; c += 1) {
      const light = (scene[data[i * 3 + c] ?? 0] ?? 0) * gain * (cast[c] ?? 1);
      const root = Math.sqrt(Math.sqrt(Math.min(1, light / MOST_LINEAR)));
      data[i * 3 + c] = codes[Math.round(root * TABLE_STEPS)] ?? 255;
    }
  }
}

const PLATE = '#1a1c22';
const INK = '#fffdf5';

/** A caption strip under a half; words that do not fit are made smaller. */
function caption(text: string, left: number, top: number, widthPx: number, heightPx: number): string {
  const pad = heightPx * 0.3;
  const natural = labelPath(text, heightPx * 0.5);
  const scale = Math.min(1, (widthPx - 2 * pad) / natural.widthPx);
  const baseline = top + heightPx * (0.5 + 0.18 * scale);
  return `<path transform="translate(${(left + pad).toFixed(1)} ${baseline.toFixed(1)}) scale(${scale.toFixed(3)})" d="${natural.data}" fill="${INK}"/>`;
}

/**
 * The preview as it is and, at its right, as the report's corrections would leave it, each with its words below: a
 * JPEG in sRGB, its profile embedded.
 *
 * @param longEdgePx of one half, at most; smaller previews stay as they are
 * @throws as `correctedPreview`; the reason of the signal, which is looked at between the steps
 */
export async function beforeAfterJpeg(
  input: CorrectedInput,
  longEdgePx: number,
  { quality = 85, signal }: { quality?: number; signal?: AbortSignal } = {},
): Promise<Buffer> {
  signal?.throwIfAborted();
  const after = await correctedPreview(input);
  signal?.throwIfAborted();
  const fitted = { width: longEdgePx, height: longEdgePx, fit: 'inside', withoutEnlargement: true } as const;
  const left = await sharp(input.products.previewJpeg)
    .toColourspace('srgb')
    .resize(fitted)
    .png()
    .toBuffer({ resolveWithObject: true });
  const right = await sharp(after.data, { raw: { width: after.widthPx, height: after.heightPx, channels: 3 } })
    .resize({ width: left.info.width, height: left.info.height, fit: 'fill' })
    .png()
    .toBuffer();
  signal?.throwIfAborted();
  const { width, height } = left.info;
  const gap = Math.max(2, Math.round(width * 0.01));
  const strip = Math.max(18, Math.round(Math.max(width, height) * 0.035));
  const total = { width: 2 * width + gap, height: height + strip };
  const words = `<svg xmlns="http://www.w3.org/2000/svg" width="${total.width}" height="${total.height}">${caption('as it is', 0, height, width, strip)}${caption(`with ${correctionWords(input.frame)}`, width + gap, height, width, strip)}</svg>`;
  return sharp({ create: { ...total, channels: 3, background: PLATE } })
    .composite([
      { input: left.data, left: 0, top: 0 },
      { input: right, left: width + gap, top: 0 },
      { input: Buffer.from(words), left: 0, top: 0 },
    ])
    .withIccProfile('srgb')
    .jpeg({ quality })
    .toBuffer();
}
