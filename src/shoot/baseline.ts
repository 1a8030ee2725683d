import type { SetupBaseline, Sitter } from '../contracts/report.js';
import type { FrameFacts } from './facts.js';
import { difference, medianKnown, rounded, spreadKnown, type Unknown } from './known.js';
import type { SetupState } from './setup-state.js';

/**
 * Robust medians of a set-up: what its frames have in common. Its spread is that of frames
 * against their own sitter. The level is the one metered for: where the light or a setting changed and nobody metered
 * again, that of the set-up it departed from; where the light drifts, that of the drift's beginning.
 */
export function baselineOf({ frames, lights, departure }: SetupState): SetupBaseline {
  const facts = frames.map((frame) => frame.facts);
  const of = (read: (fact: FrameFacts) => Unknown, decimals?: number): Unknown =>
    rounded(medianKnown(facts.map(read)), decimals);
  const usual = usualExposure(facts);
  const departed = departure === null ? 0 : departure.settingsStops + departure.lightStops;
  return {
    subjectLevelStops: rounded(
      difference(
        medianKnown(frames.map((frame) => difference(frame.facts.subjectLevelStops, frame.driftStops))),
        departed,
      ),
    ),
    subjectSpreadStops: rounded(spreadKnown(lights.map((light) => light.levelStops))),
    backgroundLevelStops: of((fact) => fact.measurement.background.levelStops),
    personToBackgroundStops: of((fact) => fact.personToBackgroundStops),
    sideToSideStops: of((fact) => fact.sideToSideStops),
    faceToLowerBodyStops: of((fact) => fact.main?.faceToLowerBodyStops ?? null),
    faceToLowerBodyLightStops: of((fact) => fact.main?.faceToLowerBodyLightStops ?? null),
    castMired: of((fact) => castOf(fact).mired, 2),
    castDuv: of((fact) => castOf(fact).duv, 5),
    ...usual,
  };
}

/** D65 as mired, 10^6 / 6504: what a cast is told against. */
const D65_MIRED = 1e6 / 6504;

/** The colour of the light against D65, by the wall, else by the frame's neutral estimate. */
export function castOf(fact: FrameFacts): { mired: Unknown; duv: Unknown } {
  const mired = fact.backgroundMired ?? fact.neutralMired;
  const duv = fact.backgroundMired !== null ? fact.backgroundDuv : fact.neutralDuv;
  return { mired: mired === null ? null : mired - D65_MIRED, duv };
}

/** The settings that most frames have, as written; the earliest of equals. */
function usualExposure(
  facts: readonly FrameFacts[],
): Pick<SetupBaseline, 'fNumber' | 'exposureTimeSeconds' | 'iso' | 'ev100'> {
  const counts = new Map<string, { count: number; fact: FrameFacts }>();
  for (const fact of facts) {
    const { fNumber, exposureTimeSeconds, iso } = fact.measurement.exposure;
    const key = `${fNumber}|${exposureTimeSeconds}|${iso}`;
    const entry = counts.get(key);
    if (entry === undefined) counts.set(key, { count: 1, fact });
    else entry.count++;
  }
  let best: { count: number; fact: FrameFacts } | null = null;
  for (const entry of counts.values()) if (best === null || entry.count > best.count) best = entry;
  const exposure = best?.fact.measurement.exposure;
  return {
    fNumber: exposure?.fNumber ?? null,
    exposureTimeSeconds: exposure?.exposureTimeSeconds ?? null,
    iso: exposure?.iso ?? null,
    ev100: rounded(exposure?.ev100 ?? null),
  };
}

/** The sitters of one set-up, in order of appearance; ids mean nothing outside it. */
export function sittersOf({ frames, lights }: SetupState): Sitter[] {
  const groups = new Map<number, number[]>();
  frames.forEach((frame, i) => {
    if (frame.facts.main === null) return;
    const members = groups.get(frame.sitter);
    if (members === undefined) groups.set(frame.sitter, [i]);
    else members.push(i);
  });
  return [...groups.values()].map((members, i) => ({
    id: `p${i + 1}`,
    frames: members.map((member) => frames[member]?.facts.name ?? ''),
    faceLevelStops: rounded(medianKnown(members.map((member) => frames[member]?.facts.levels.face ?? null))),
    spreadStops: rounded(spreadKnown(members.map((member) => lights[member]?.subjectStops ?? null))),
  }));
}
