import type { MeasuredFrame } from '../src/contracts/jobs.js';
import type { FrameMeasurement } from '../src/contracts/measurement.js';
import { MEASURING_VERSION } from '../src/contracts/measuring-version.js';
import type { MeasuringOptions } from '../src/contracts/options.js';
import { ASSUMED_CAMERA_CURVE } from '../src/photometry/tone-response.js';
import { decodeFrame } from './decode/decode-frame.js';
import { chooseToneResponse } from './measure/choose-tone-response.js';
import { clippingOf } from './measure/clipping.js';
import { colourOf } from './measure/colour.js';
import { withFrameBuffers, type FrameBuffers } from './measure/frame-buffers.js';
import { measurePeople } from './measure/people.js';
import { noiseOf } from './measure/noise.js';
import { ownRenderingOf } from './measure/own-rendering.js';
import { productsOf } from './measure/products.js';
import { reduceFrame } from './measure/reduce.js';
import { StageTimer } from './measure/stage-timer.js';
import { toneOf } from './measure/tone.js';
import { workingImageOf } from './measure/working-image-of.js';
import { openFrame, sourceOf } from './open-frame.js';
import { withMakerExposure } from './read/maker-exposure.js';
import { createPeopleFinder } from './people/finder.js';
import type { PeopleFinder } from './people/port.js';

let finder: Promise<PeopleFinder> | null = null;
/** Made once; a failure is not kept for the frames that come later. */
const peopleFinder = () =>
  (finder ??= createPeopleFinder().catch((thrown: unknown) => {
    finder = null;
    throw thrown;
  }));

/** A grey square: nobody is found in it, but what looks for people has run once. */
const NOBODY_SIDE_PX = 256;

/** Loads the people models, and lets them run once, before the first frame needs them. Throws as loading them does. */
export async function loadPeopleModels(): Promise<void> {
  const rgb8 = new Uint8Array(NOBODY_SIDE_PX * NOBODY_SIDE_PX * 3).fill(118);
  await (await peopleFinder()).find({ rgb8, widthPx: NOBODY_SIDE_PX, heightPx: NOBODY_SIDE_PX });
}

/**
 * Measures one frame: a pure function of its bytes and the options (timing aside).
 *
 * @throws StopledgerError `frame-empty`, `frame-not-an-image`, `frame-format-unsupported`, `frame-truncated`,
 *   `frame-corrupt` or `frame-too-many-pixels`, saying what was found and what was expected.
 */
export function measureFrame(bytes: Buffer, options: MeasuringOptions): Promise<MeasuredFrame> {
  return withFrameBuffers((buffers) => measureIn(buffers, bytes, options));
}

async function measureIn(buffers: FrameBuffers, bytes: Buffer, options: MeasuringOptions): Promise<MeasuredFrame> {
  const timer = new StageTimer();
  const { sniffed, exposure: written, orientation, exifColourSpace, notes } = await openFrame(bytes);
  timer.lap('readMs');
  const decoded = await decodeFrame(bytes, sniffed, {
    maxPixels: options.maxPixels,
    orientation,
    exifColourSpace,
  });
  const { exposure, notes: makerNotes } = withMakerExposure(written, decoded.makerExposure ?? null);
  timer.lap('decodeMs');
  const tone = chooseToneResponse(decoded.encoding, options, exposure, decoded.profile.description);
  const reduction = reduceFrame(decoded, tone.curve.toScene, buffers);
  const display = decoded.encoding === 'scene' ? ASSUMED_CAMERA_CURVE : tone.curve;
  const image = workingImageOf(reduction, decoded, display, buffers);
  timer.lap('reduceMs');
  const found = options.findPeople ? await (await peopleFinder()).find(image) : [];
  timer.lap('findPeopleMs');
  const { people, background, regions } = measurePeople(image, found, tone.response);
  const measurement: FrameMeasurement = {
    schemaVersion: 1,
    measuringVersion: MEASURING_VERSION,
    encoding: decoded.encoding,
    source: sourceOf(bytes, decoded),
    exposure,
    toneResponse: tone.response,
    tone: toneOf(reduction, display.toFile),
    clipping: clippingOf(reduction, image, decoded, people),
    people,
    background,
    colour: colourOf(image, regions, people, background),
    noise: noiseOf(decoded, tone.curve.toScene),
    ownRendering: await ownRenderingOf(decoded.embeddedPreview ?? null, options.maxPixels, exifColourSpace),
    notes: [...notes, ...makerNotes, ...decoded.notes],
    timing: timer.milliseconds,
  };
  timer.lap('measureMs');
  const products = await productsOf(image, regions, options.previewLongEdgePx);
  timer.lap('picturesMs');
  return { measurement, products };
}
