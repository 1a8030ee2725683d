import type { CameraCalibration, FrameSamples, RenderingKey } from '../contracts/calibration.js';
import { calibrate, type Calibrated } from '../photometry/response-fit/calibrate.js';

export interface NamedSamples {
  name: string;
  samples: FrameSamples;
}

export interface LeftOut {
  name: string;
  because: string;
}

export interface CalibrationGroup {
  key: RenderingKey;
  names: string[];
  /** The fit, or why there is none. */
  outcome: Calibrated | { refused: string };
}

/**
 * Sorts a bracket's frames by camera and rendering and fits each group. A frame that cannot serve is left out with its
 * reason: no camera named, settings missing, raw data (proportional to light already), or another size than most.
 */
export function calibrateGroups(frames: readonly NamedSamples[]): { groups: CalibrationGroup[]; leftOut: LeftOut[] } {
  const leftOut: LeftOut[] = [];
  const byKey = new Map<string, { key: RenderingKey; members: (NamedSamples & { exposureStops: number })[] }>();
  for (const frame of frames) {
    const { samples, name } = frame;
    const { av, tv, sv } = samples.exposure;
    if (samples.encoding === 'scene') {
      leftOut.push({ name, because: 'raw data are proportional to light and need no calibration' });
    } else if (samples.key === null) {
      leftOut.push({ name, because: 'the file does not say which camera made it' });
    } else if (av === null || tv === null || sv === null) {
      const missing = samples.exposure.missing.map((m) => m.because).join('; ');
      leftOut.push({ name, because: `aperture, shutter and ISO are all needed: ${missing}` });
    } else {
      const id = JSON.stringify(samples.key);
      const group = byKey.get(id) ?? { key: samples.key, members: [] };
      // More sensitivity, a larger aperture (smaller Av) and a longer time (smaller Tv) brighten.
      group.members.push({ ...frame, exposureStops: sv - av - tv });
      byKey.set(id, group);
    }
  }
  const groups = [...byKey.values()].map(({ key, members }): CalibrationGroup => {
    const usual = mostUsual(members.map((m) => `${m.samples.blocksWide} x ${m.samples.blocksHigh}`));
    const fitting = members.filter((m) => {
      if (`${m.samples.blocksWide} x ${m.samples.blocksHigh}` === usual) return true;
      leftOut.push({ name: m.name, because: 'its shape is not that of the other frames of the bracket' });
      return false;
    });
    return {
      key,
      names: fitting.map((m) => m.name),
      outcome: calibrate(fitting.map((m) => ({ exposureStops: m.exposureStops, ...m.samples }))),
    };
  });
  return { groups, leftOut };
}

/** What is kept of a fit. */
export function calibrationOf(key: RenderingKey, fit: Calibrated): CameraCalibration {
  return {
    key,
    knots: fit.knots,
    method: fit.method,
    residualStops: fit.residualStops,
    uncertaintyStops: fit.uncertaintyStops,
    frames: fit.frames,
    spanStops: fit.spanStops,
  };
}

function mostUsual(values: readonly string[]): string | undefined {
  const counts = new Map<string, number>();
  for (const value of values) counts.set(value, (counts.get(value) ?? 0) + 1);
  return [...counts].sort((a, b) => b[1] - a[1])[0]?.[0];
}
