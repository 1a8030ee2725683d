import type { SavedLook } from '../../contracts/look.js';
import type { ReportFrame, Setup, ShootReport } from '../../contracts/report.js';
import { StopledgerError } from '../../errors.js';

/** The set-up with the most frames, the earliest of equals. */
function largest(setups: readonly Setup[]): Setup | undefined {
  return setups.reduce<Setup | undefined>(
    (best, setup) => (best === undefined || setup.frames.length > best.frames.length ? setup : best),
    undefined,
  );
}

/**
 * A set-up of a report kept as a look: aggregate levels with their spread, no frame name, no picture, nothing of any
 * one person.
 *
 * @param name what the look is called
 * @param setupId its set-up; undefined takes the one with the most frames
 * @throws bad-usage when there is no such set-up, or none at all
 */
export function lookOf(report: ShootReport, name: string, setupId?: string): SavedLook {
  const setup = setupId === undefined ? largest(report.setups) : report.setups.find(({ id }) => id === setupId);
  if (setup === undefined) {
    const there = report.setups.map(({ id }) => id).join(', ');
    throw new StopledgerError(
      'bad-usage',
      there === ''
        ? 'no look can be saved: no frame could be measured, so there is no set-up'
        : `Expected a set-up of this shoot (${there}) to save as a look but received "${setupId ?? ''}"`,
    );
  }
  const names = new Set(setup.frames);
  const frames = report.frames.filter((frame) => names.has(frame.name));
  const { fNumber, exposureTimeSeconds, iso } = setup.baseline;
  return {
    schemaVersion: 1,
    kind: 'look',
    name,
    frames: frames.length,
    sitters: setup.sitters.length === 0 ? null : setup.sitters.length,
    light: report.summary.light.kind,
    settings: { fNumber, exposureTimeSeconds, iso },
    toneResponses: toneResponsesOf(frames),
    measuringVersions: report.shoot.measuringVersions,
    figures: setup.figures,
  };
}

function toneResponsesOf(frames: readonly ReportFrame[]): SavedLook['toneResponses'] {
  const bySource = new Map<SavedLook['toneResponses'][number]['source'], SavedLook['toneResponses'][number]>();
  for (const { toneResponse } of frames) {
    if (toneResponse === null) continue;
    const { source, uncertaintyStops } = toneResponse;
    const seen = bySource.get(source) ?? { source, frames: 0, uncertaintyStops: 0 };
    seen.frames++;
    seen.uncertaintyStops = Math.max(seen.uncertaintyStops, uncertaintyStops);
    bySource.set(source, seen);
  }
  return [...bySource.values()].sort((a, b) => (a.source < b.source ? -1 : 1));
}
