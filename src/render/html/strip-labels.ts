import type { FlagCode, ReportFrame } from '../../contracts/report.js';
import { flagsWorstFirst } from '../words.js';

/** One word a flag, for places where a level in stops would not say what is wrong. */
const SHORT_WORDS: Partial<Record<FlagCode, string>> = {
  'settings-changed': 'settings',
  'settings-off-plan': 'plan',
  'light-changed': 'light',
  'light-missing': 'light',
  'light-short': 'light',
  'face-dark': 'face',
  'face-bright': 'face',
  'lower-body-dark': 'legs',
  'background-shifted': 'background',
  'contrast-shifted': 'contrast',
  'highlights-clipped': 'clipped',
  'face-clipped': 'clipped',
  'blacks-clipped': 'blacks',
  'cast-shifted': 'cast',
  'no-exposure-data': 'no data',
  'low-confidence': 'unsure',
};

/** What stands beside a flagged frame's mark: its stops where the level is out of tolerance, else the flag's word. */
export function stripLabel(frame: ReportFrame, toleranceStops: number): string {
  const stops = frame.deviation.fromSetupStops;
  if (stops !== null && Math.abs(stops) > toleranceStops)
    return `${stops < 0 ? '−' : '+'}${Math.abs(stops).toFixed(1)}`;
  const flag = flagsWorstFirst(frame).find(
    ({ code, severity }) => severity !== 'note' && SHORT_WORDS[code] !== undefined,
  );
  return flag === undefined ? '' : (SHORT_WORDS[flag.code] ?? '');
}

export interface PlacedLabel {
  at: number;
  stops: number;
  above: boolean;
  text: string;
  severe: boolean;
}

const LETTER_PX = 7;
const GAP_PX = 5;

/**
 * Keeps the labels that do not run into one another on their side of the marks; those of frames that are off go
 * first, so that a mere check never takes the place of a fault.
 */
export function placeLabels(wanted: readonly PlacedLabel[], pxPerFrame: number): PlacedLabel[] {
  const kept: PlacedLabel[] = [];
  const halfPx = (label: PlacedLabel): number => (label.text.length * LETTER_PX) / 2;
  const first = [...wanted].sort((a, b) => Number(b.severe) - Number(a.severe) || a.at - b.at);
  for (const label of first) {
    if (label.text === '') continue;
    const free = kept.every(
      (other) =>
        other.above !== label.above ||
        Math.abs(other.at - label.at) * pxPerFrame >= halfPx(other) + halfPx(label) + GAP_PX,
    );
    if (free) kept.push(label);
  }
  return kept;
}
