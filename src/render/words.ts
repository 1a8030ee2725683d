/**
 * The words that every rendering of a report shares, so that terminal, page and table call one thing by one name.
 */
import type { FlagCode, Region, ReportFrame, Severity, Verdict } from '../contracts/report.js';

export const VERDICT_WORDS: Record<Verdict, string> = {
  consistent: 'consistent',
  check: 'check',
  off: 'off',
  unreadable: 'unreadable',
};

/** One plain character a verdict, so that no reader depends on colour. */
export const VERDICT_MARKS: Record<Verdict, string> = { consistent: '·', check: '?', off: '!', unreadable: 'x' };

export const VERDICT_ORDER: readonly Verdict[] = ['off', 'check', 'unreadable', 'consistent'];

export const FLAG_WORDS: Record<FlagCode, string> = {
  'level-off-baseline': 'level away from its set-up',
  'settings-changed': 'settings changed',
  'settings-off-plan': 'settings not as planned',
  'light-changed': 'the light changed',
  'light-missing': 'the light did not fire',
  'light-short': 'the light fell short',
  'face-dark': 'face darker than its set-up',
  'face-bright': 'face brighter than its set-up',
  'lower-body-dark': 'lower body under-lit',
  'background-shifted': 'background changed',
  'contrast-shifted': 'contrast across the face changed',
  'highlights-clipped': 'highlights clipped',
  'face-clipped': 'clipped inside a face',
  'blacks-clipped': 'blacks clipped',
  'cast-shifted': 'colour cast changed',
  'no-exposure-data': 'no exposure data',
  'no-face': 'no face found',
  'lower-body-not-in-frame': 'lower body not in the frame',
  'low-confidence': 'low confidence',
  unreadable: 'could not be measured',
};

export const REGION_WORDS: Record<Region, string> = {
  frame: 'whole frame',
  face: 'face',
  'lower-body': 'lower body',
  background: 'background',
};

export const SEVERITY_ORDER: Record<Severity, number> = { fault: 0, check: 1, note: 2 };

export const NOTHING = '–';

/** A difference in stops with its sign, two decimals; `minus` is the character for negative numbers. */
export function formatStops(stops: number | null | undefined, minus = '−'): string {
  if (stops === null || stops === undefined) return NOTHING;
  const rounded = Math.abs(stops).toFixed(2);
  if (Number(rounded) === 0) return '0.00';
  return `${stops < 0 ? minus : '+'}${rounded}`;
}

/** A share of 0..1 as per cent; small ones keep their digits so that 0.02 % is not called 0 %. */
export function formatShare(share: number | null | undefined): string {
  if (share === null || share === undefined) return NOTHING;
  const percent = share * 100;
  if (percent === 0) return '0 %';
  if (percent < 0.01) return '< 0.01 %';
  return `${percent < 1 ? percent.toFixed(2) : percent < 10 ? percent.toFixed(1) : percent.toFixed(0)} %`;
}

/** Shutter time as photographers write it: 1/160 s, 0.5 s, 2 s. */
export function formatShutter(seconds: number | null | undefined): string {
  if (seconds === null || seconds === undefined) return NOTHING;
  if (seconds >= 0.3) return `${Number(seconds.toFixed(1))} s`;
  return `1/${Math.round(1 / seconds)} s`;
}

/** f/8 · 1/160 s · ISO 100, leaving out what is not known; a dash when nothing is. */
export function formatSettings(
  settings: { fNumber: number | null; exposureTimeSeconds: number | null; iso: number | null } | null,
): string {
  if (settings === null) return NOTHING;
  const parts: string[] = [];
  if (settings.fNumber !== null) parts.push(`f/${Number(settings.fNumber.toFixed(1))}`);
  if (settings.exposureTimeSeconds !== null) parts.push(formatShutter(settings.exposureTimeSeconds));
  if (settings.iso !== null) parts.push(`ISO ${Math.round(settings.iso)}`);
  return parts.length === 0 ? NOTHING : parts.join(' · ');
}

export interface FaceToLegs {
  stops: number | null;
  /** `skin`: light, skin against skin. `cloth`: brightness only, clothing included. `none`: not in the frame. */
  basis: 'skin' | 'cloth' | 'none';
  uncertaintyStops: number | null;
}

/** The one face-to-lower-body number to show for the main person: light where skin allows it, else brightness. */
export function faceToLegs(frame: ReportFrame): FaceToLegs {
  const person = frame.people[0];
  if (person === undefined) return { stops: null, basis: 'none', uncertaintyStops: null };
  if (person.faceToLowerBodyLightStops !== null) {
    return {
      stops: person.faceToLowerBodyLightStops,
      basis: 'skin',
      uncertaintyStops: person.faceToLowerBodyLightUncertaintyStops,
    };
  }
  if (person.faceToLowerBodyStops !== null) {
    return { stops: person.faceToLowerBodyStops, basis: 'cloth', uncertaintyStops: null };
  }
  return { stops: null, basis: 'none', uncertaintyStops: null };
}

/** Flags of a frame, worst first; the order of equal ones is kept. */
export function flagsWorstFirst(frame: ReportFrame): ReportFrame['flags'] {
  return [...frame.flags].sort((a, b) => SEVERITY_ORDER[a.severity] - SEVERITY_ORDER[b.severity]);
}

/** Replaces control characters (terminal escapes, line breaks, bidirectional overrides) so that a name cannot act. */
export function withoutControls(text: string): string {
  // eslint-disable-next-line no-control-regex
  return text.replace(/[\u0000-\u001f\u007f-\u009f\u200e\u200f\u2028\u2029\u202a-\u202e\u2066-\u2069]/g, '\ufffd');
}
