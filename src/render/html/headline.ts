import type { CorrectedFrame, FlagCode } from '../../contracts/report.js';
import { faceToLegs, flagsWorstFirst, formatShare, formatStops } from '../words.js';

/** The one number that a contact sheet shows of a frame. */
export interface Headline {
  value: string;
  unit: string;
  /** What it is; null for the level against the frame's own set-up, which the sheet explains once for all. */
  of: string | null;
}

const stopsOf = (stops: number | null | undefined, of: string | null): Headline | null =>
  stops === null || stops === undefined ? null : { value: formatStops(stops), unit: 'stops', of };

const shareOf = (share: number | null | undefined, of: string): Headline | null =>
  share === null || share === undefined ? null : { value: formatShare(share), unit: '', of };

const signed = (value: number): string => `${value < 0 ? '−' : '+'}${Math.abs(value).toFixed(0)}`;

function castOf(frame: CorrectedFrame): Headline | null {
  const correction = frame.corrections.find(({ step }) => step === 'cast')?.mired;
  if (correction === null || correction === undefined) return null;
  return { value: signed(-correction), unit: 'mired', of: 'cast' };
}

/** Flags that are about another number than the level. */
const NUMBER_OF: Partial<Record<FlagCode, (frame: CorrectedFrame) => Headline | null>> = {
  'lower-body-dark': (frame) => {
    const { stops, basis } = faceToLegs(frame);
    return stopsOf(stops, basis === 'skin' ? 'face over legs, light' : 'face over legs, brightness');
  },
  'contrast-shifted': (frame) => stopsOf(frame.people[0]?.sideToSideStops, 'side to side'),
  'cast-shifted': castOf,
  'highlights-clipped': (frame) => shareOf(frame.clipping?.highlightsShare, 'clipped'),
  'face-clipped': (frame) => shareOf(frame.clipping?.facesShare, 'of the face clipped'),
  'blacks-clipped': (frame) => shareOf(frame.clipping?.blacksShare, 'blacks'),
  'background-shifted': (frame) => stopsOf(flagStops(frame, 'background-shifted'), 'background'),
  'face-dark': (frame) => stopsOf(flagStops(frame, 'face-dark'), 'face'),
  'face-bright': (frame) => stopsOf(flagStops(frame, 'face-bright'), 'face'),
};

const flagStops = (frame: CorrectedFrame, code: FlagCode): number | undefined =>
  frame.flags.find((flag) => flag.code === code)?.stops;

/**
 * The number that matters most in a frame: that of its worst flag where the flag is about something else than the
 * level, otherwise the level against its own set-up; null where neither is known.
 */
export function headlineOf(frame: CorrectedFrame): Headline | null {
  const worst = flagsWorstFirst(frame).find(({ severity }) => severity !== 'note');
  const number = worst === undefined ? undefined : NUMBER_OF[worst.code];
  return number?.(frame) ?? stopsOf(frame.deviation.fromSetupStops, null);
}
