import type { CameraClock, FlagCode, ReportFrame, Setup } from '../contracts/report.js';
import { listNames } from './wording.js';

/** One thing worth telling, and which flags of which frames it tells already. */
export interface Finding {
  weight: number;
  sentence: string;
  /** Code and frame, as `toldKey` joins them. */
  told: ReadonlySet<string>;
}

export const toldKey = (code: FlagCode, frame: string): string => `${code}|${frame}`;

/** Weight of a flag among the findings: faults count three times, and more the further they are off. */
export const weightOf = (severity: string, stops: number | undefined): number =>
  (severity === 'fault' ? 3 : 1) * (1 + Math.min(3, Math.abs(stops ?? 0.5)));

/** A habit of a whole set-up matters a little even where no frame is out of tolerance yet. */
const LEAST_WEIGHT = 0.5;

/** A clock that is off mixes up the order of all frames, but spoils none. Ours. */
const CLOCK_WEIGHT = 4;

/** Clocks that were found to be off. */
export function clockFindings(clocks: readonly CameraClock[]): Finding[] {
  return clocks
    .filter(({ from, aheadSeconds }) => from === 'found' && aheadSeconds !== 0)
    .map(({ because }) => ({ weight: CLOCK_WEIGHT, sentence: because, told: new Set() }));
}

/** What holds for a set-up as a whole: light that drifts, exposure that the camera moved. */
export function setupFindings(setups: readonly Setup[], frames: ReadonlyMap<string, ReportFrame>): Finding[] {
  return setups.flatMap((setup) => {
    const findings: Finding[] = [];
    if (setup.drift !== null) {
      const first = setup.frames.indexOf(setup.drift.firstFrame);
      const last = setup.frames.indexOf(setup.drift.lastFrame);
      const drifted = setup.frames.slice(first, last + 1);
      findings.push(findingOf(setup, setup.drift.because, 'light-changed', drifted, frames));
    }
    if (setup.automation !== null)
      findings.push(findingOf(setup, setup.automation.because, 'settings-changed', setup.frames, frames));
    return findings;
  });
}

function findingOf(
  setup: Setup,
  because: string,
  code: FlagCode,
  names: readonly string[],
  frames: ReadonlyMap<string, ReportFrame>,
): Finding {
  let weight = LEAST_WEIGHT;
  const off: string[] = [];
  for (const name of names) {
    const flag = frames.get(name)?.flags.find((candidate) => candidate.code === code);
    if (flag === undefined || flag.severity === 'note') continue;
    off.push(name);
    weight += weightOf(flag.severity, flag.stops);
  }
  const outside =
    off.length === 0 ? 'No frame is out of tolerance by it.' : `Out of tolerance by it: ${listNames(off)}.`;
  return {
    weight,
    sentence: `${setup.id}: ${because} ${outside}`,
    told: new Set(off.map((name) => toldKey(code, name))),
  };
}
