import { CAMERA_CURVE_NAMES, type CameraCurveName } from '../../samples/make/camera-curves.js';
import { bracketFrames } from '../../samples/make/virtual-camera.js';
import { bracketFromSamples, type BracketFrameSamples } from '../../src/photometry/response-fit/bracket.js';
import { fitResponse } from '../../src/photometry/response-fit/fit-response.js';
import { stepChecks, type StepCheck } from '../../src/photometry/response-fit/residual.js';
import { ASSUMED_CAMERA_CURVE } from '../../src/photometry/tone-response.js';
import { sampleFrame } from '../../worker/sample-frame.js';
import { medianOf, worst, type AccuracyRow } from './row.js';

const STEPS = [-4, -3, -2, -1, 0, 1, 2];

export interface CurveCheck {
  curve: CameraCurveName;
  assumed: StepCheck[];
  calibrated: StepCheck[];
}

/** A seven-stop bracket through each invented curve: the assumed response, and one fitted on every other frame. */
export async function checkCurves(): Promise<CurveCheck[]> {
  const checks: CurveCheck[] = [];
  for (const curve of CAMERA_CURVE_NAMES) {
    const frames: BracketFrameSamples[] = [];
    for (const { stops, jpeg } of await bracketFrames(curve, STEPS)) {
      frames.push({ exposureStops: stops, ...(await sampleFrame(jpeg, { maxPixels: 1e8 })) });
    }
    const all = bracketFromSamples(frames);
    const every = all.exposureStops.map((_, i) => i);
    const fit = fitResponse(bracketFromSamples(frames.filter((_, i) => i % 2 === 0)));
    if ('refused' in fit) throw new Error(`${curve}: ${fit.refused}`);
    checks.push({
      curve,
      assumed: stepChecks(ASSUMED_CAMERA_CURVE, all, every),
      calibrated: stepChecks(fit.curve, all, every),
    });
  }
  return checks;
}

export async function curveRows(): Promise<AccuracyRow[]> {
  const checks = await checkCurves();
  const truth = 'virtual camera: exposure set by shutter';
  return checks.flatMap(({ curve, assumed, calibrated }): AccuracyRow[] => [
    {
      section: 'virtual brackets',
      what: `${curve}: assumed response, measured / true stops, distance from 1`,
      measured: Math.abs(medianOf(assumed.map((s) => s.measuredStops / s.trueStops)) - 1),
      goal: 0.15,
      unit: 'ratio, median',
      sense: 'most',
      truth,
    },
    {
      section: 'virtual brackets',
      what: `${curve}: calibrated on every other frame, error a step`,
      measured: worst(calibrated.map((s) => s.measuredStops - s.trueStops)),
      goal: 0.06,
      unit: 'stop, worst',
      sense: 'most',
      truth,
    },
  ]);
}
