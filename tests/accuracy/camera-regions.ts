import sharp from 'sharp';
import { CAMERA_CURVES, type CameraCurveName } from '../../samples/make/camera-curves.js';
import { bracketFrames, plainFrame, renderFrame } from '../../samples/make/virtual-camera.js';
import { calibrationOf } from '../../src/commands/calibrate-groups.js';
import type { CameraCalibration } from '../../src/contracts/calibration.js';
import { MeasuringOptions } from '../../src/contracts/options.js';
import { calibrate } from '../../src/photometry/response-fit/calibrate.js';
import type { BracketFrameSamples } from '../../src/photometry/response-fit/bracket.js';
import { measureFrame } from '../../worker/measure-frame.js';
import { sampleFrame } from '../../worker/sample-frame.js';
import { caseOf, type StudioCase } from '../support/studio-cases.js';
import { loadStudioRender, studioNames } from '../support/studio.js';
import { rowsOf } from './regions.js';
import type { AccuracyRow } from './row.js';

/** Soft to hard, with and without toe and shoulder. */
const CURVES: readonly CameraCurveName[] = [
  'soft-shoulder',
  'soft-toe',
  'plain-power',
  'middle-toe',
  'hard-toe',
  'hard-crushed',
];
const BRACKET_STOPS = [-4, -3, -2, -1, 0, 1, 2];

/** The calibration that `stopledger calibrate` would keep of this curve: a bracket of one figure under lamps. */
export async function calibrationFor(curve: CameraCurveName): Promise<CameraCalibration> {
  const frames: BracketFrameSamples[] = [];
  let key: CameraCalibration['key'] | null = null;
  for (const { stops, jpeg } of await bracketFrames(curve, BRACKET_STOPS)) {
    const samples = await sampleFrame(jpeg, { maxPixels: 1e8 });
    frames.push({ exposureStops: stops, ...samples });
    key ??= samples.key;
  }
  const fit = calibrate(frames);
  if ('refused' in fit || key === null)
    throw new Error(`${curve}: expected a calibration but got ${'refused' in fit ? fit.refused : 'no camera'}`);
  return calibrationOf(key, fit);
}

/** Every render as a JPEG of the virtual camera, exposed as metered, or as many stops beside it, through the whole pipeline. */
export async function photographStudio(
  curve: CameraCurveName,
  calibrations: readonly CameraCalibration[],
  stops: number,
  names: readonly string[] = studioNames(),
): Promise<StudioCase[]> {
  const options = MeasuringOptions.parse({ calibrations });
  const cases: StudioCase[] = [];
  for (const name of names) {
    const plain = plainFrame(name);
    const jpeg = await renderFrame({
      ...plain,
      curve,
      light: { ...plain.light, powerStops: stops, ambientStops: -20 },
      jpeg: { quality: 92, chroma: '4:2:0' },
      seed: `${name} ${curve}`,
    });
    const { measurement, products } = await measureFrame(jpeg, options);
    const render = await loadStudioRender(name);
    const { data, info } = await sharp(products.regionsPng).raw().toBuffer({ resolveWithObject: true });
    if (info.width !== render.widthPx || info.height !== render.heightPx)
      throw new Error(
        `expected regions of ${render.widthPx} x ${render.heightPx} but got ${info.width} x ${info.height}`,
      );
    const regions = Uint8Array.from({ length: info.width * info.height }, (_, i) => data[i * info.channels]!);
    const person = measurement.people.find((p) => p.main) ?? null;
    cases.push(caseOf(name, { name: curve }, render, person, regions));
  }
  return cases;
}

/** The renders through the virtual camera's curves as metered, read through the assumed curve and through a calibration. */
export async function cameraRegionRows(): Promise<AccuracyRow[]> {
  if (studioNames().length === 0) return [];
  const rows: AccuracyRow[] = [];
  const all: { assumed: StudioCase[]; calibrated: StudioCase[] } = { assumed: [], calibrated: [] };
  for (const curve of CURVES) {
    const calibration = await calibrationFor(curve);
    for (const [response, calibrations] of [
      ['assumed', []],
      ['calibrated', [calibration]],
    ] as const) {
      const cases = await photographStudio(curve, calibrations, 0);
      all[response].push(...cases);
      rows.push(...rowsOf(`camera ${curve}, slope ${CAMERA_CURVES[curve].slopeAtMid}, ${response}`, cases));
    }
  }
  rows.push(...rowsOf(`camera, ${CURVES.length} curves together, assumed`, all.assumed));
  rows.push(...rowsOf(`camera, ${CURVES.length} curves together, calibrated`, all.calibrated));
  return rows;
}
