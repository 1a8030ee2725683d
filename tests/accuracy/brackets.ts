import { existsSync, readFileSync, readdirSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { bracketFromSamples, type BracketFrameSamples } from '../../src/photometry/response-fit/bracket.js';
import { fitResponse } from '../../src/photometry/response-fit/fit-response.js';
import { stepChecks, type StepCheck } from '../../src/photometry/response-fit/residual.js';
import { ASSUMED_CAMERA_CURVE } from '../../src/photometry/tone-response.js';
import { sampleFrame } from '../../worker/sample-frame.js';
import { medianOf, worst, type AccuracyRow } from './row.js';

/** Real exposure brackets of still scenes, exposure changed by the shutter; read where they lie, never copied. */
export const BRACKETS_FOLDER = fileURLToPath(new URL('../../../shared/brackets/', import.meta.url));
export const BRACKETS_PRESENT = existsSync(BRACKETS_FOLDER);

export interface BracketCheck {
  set: string;
  frames: number;
  /** The assumed response, between all neighbouring frames. */
  assumed: StepCheck[];
  /** Fitted on every other frame, read on the frames in between; null where too few frames are left. */
  calibrated: StepCheck[] | null;
  method: string | null;
  refused: string | null;
}

export function bracketSets(): string[] {
  return readdirSync(BRACKETS_FOLDER, { withFileTypes: true })
    .filter((e) => e.isDirectory() && e.name !== 'emor')
    .map((e) => e.name)
    .sort();
}

export async function checkBracket(set: string): Promise<BracketCheck> {
  const frames: BracketFrameSamples[] = [];
  for (const name of readdirSync(join(BRACKETS_FOLDER, set))) {
    const samples = await sampleFrame(readFileSync(join(BRACKETS_FOLDER, set, name)), { maxPixels: 1e9 });
    const { av, tv, sv } = samples.exposure;
    if (av === null || tv === null || sv === null) continue;
    frames.push({ exposureStops: sv - av - tv, ...samples });
  }
  frames.sort((a, b) => a.exposureStops - b.exposureStops);
  const steps = (curve: Parameters<typeof stepChecks>[0], chosen: readonly BracketFrameSamples[]) => {
    const bracket = bracketFromSamples(chosen);
    return stepChecks(
      curve,
      bracket,
      bracket.exposureStops.map((_, i) => i),
    );
  };
  const odd = frames.filter((_, i) => i % 2 === 0);
  const even = frames.filter((_, i) => i % 2 === 1);
  const fit = even.length >= 2 ? fitResponse(bracketFromSamples(odd)) : null;
  const fitted = fit !== null && !('refused' in fit) ? fit : null;
  return {
    set,
    frames: frames.length,
    assumed: steps(ASSUMED_CAMERA_CURVE, frames),
    calibrated: fitted && steps(fitted.curve, even),
    method: fitted?.method ?? null,
    refused: fit !== null && 'refused' in fit ? fit.refused : null,
  };
}

export async function bracketRows(): Promise<AccuracyRow[]> {
  if (!BRACKETS_PRESENT) return [];
  const rows: AccuracyRow[] = [];
  for (const set of bracketSets()) {
    const check = await checkBracket(set);
    rows.push({
      section: 'real brackets',
      what: `${set} (${check.frames} frames): assumed response, measured / true stops, distance from 1`,
      measured: Math.abs(medianOf(check.assumed.map((s) => s.measuredStops / s.trueStops)) - 1),
      goal: 0.15,
      unit: 'ratio, median',
      sense: 'most',
      truth: 'Exif shutter, snapped to the nominal scale',
    });
    if (!check.calibrated) continue;
    rows.push({
      section: 'real brackets',
      what: `${set}: calibrated (${check.method}) on the odd frames, read on the even ones, error a stop`,
      measured: worst(check.calibrated.map((s) => s.measuredStops / s.trueStops - 1)),
      goal: 0.06,
      unit: 'stop a stop, worst',
      sense: 'most',
      truth: 'Exif shutter, snapped to the nominal scale',
    });
  }
  return rows;
}
