import { medianOf, middleOf, once, type Unknown } from './known.js';
import { settingsWander } from './signals.js';
import type { SequenceFrame } from './sequence.js';
import { sittersIn, type SeenSitter } from './sitters-across.js';

/** A change of any setting that counts as one: between the third of a dial and what rounding and wear do. Ours. */
export const SETTING_STOPS = 0.25;

/** One stretch of frames as an arrangement: robust medians. */
export interface Arrangement {
  frames: readonly SequenceFrame[];
  wallLightStops: Unknown;
  wallLevelStops: Unknown;
  sideToSideStops: Unknown;
  /** 1 image-left, -1 image-right, as most frames have it. */
  brightSide: Unknown;
  mired: Unknown;
  av: Unknown;
  sv: Unknown;
  tv: Unknown;
  settingsStops: number;
  focalLog2: Unknown;
  settingsWander: boolean;
  /** Everybody in it, and those in frames with its usual settings: where settings were touched, the light may have been as well. */
  sitters: () => ReadonlyMap<number, SeenSitter>;
  sittersAtUsualSettings: () => ReadonlyMap<number, SeenSitter>;
}

export function arrangementOf(frames: readonly SequenceFrame[]): Arrangement {
  const of = (read: (frame: SequenceFrame) => Unknown): Unknown => medianOf(frames, read);
  const dial = (read: (frame: SequenceFrame) => Unknown): Unknown => middleOf(frames, read);
  const settingsStops = dial((frame) => frame.settingsStops) ?? 0;
  const wanders = settingsWander(frames);
  const atUsual = (frame: SequenceFrame): boolean =>
    wanders || Math.abs(frame.settingsStops - settingsStops) < SETTING_STOPS;
  return {
    frames,
    wallLightStops: of((frame) => frame.wallLightStops),
    wallLevelStops: of((frame) => frame.facts.backgroundLevelStops),
    sideToSideStops: of((frame) => frame.facts.sideToSideStops),
    brightSide: of((frame) => frame.facts.brightSide),
    mired: of((frame) => frame.facts.backgroundMired ?? frame.facts.neutralMired),
    av: dial((frame) => frame.facts.av),
    sv: dial((frame) => frame.facts.sv),
    tv: dial((frame) => frame.facts.tv),
    settingsStops,
    focalLog2: of((frame) => frame.facts.focalLog2),
    settingsWander: wanders,
    sitters: once(() => sittersIn(frames)),
    sittersAtUsualSettings: once(() => sittersIn(frames.filter(atUsual))),
  };
}
