import type { ShootPlan } from '../contracts/plan.js';
import { changeBetween, type Arrangement, type ArrangementChange } from './arrangement.js';
import { castsOf, type FrameCast } from './cast.js';
import { lightsOf, type FrameLight } from './deviation.js';
import { medianKnown, spreadKnown, type Unknown } from './known.js';
import type { LightKindDecision } from './light-kind.js';
import type { Departure } from './metering.js';
import type { SequenceFrame } from './sequence.js';

/** Robust medians over a set-up's frames that causes compare with. */
export interface SetupMedians {
  sideToSideStops: Unknown;
  sideToSideSpreadStops: Unknown;
  wallSpreadStops: Unknown;
  highlightsShare: Unknown;
  largestHighlightAreaShare: Unknown;
  facesShare: Unknown;
  blacksShare: Unknown;
  personToBackgroundStops: Unknown;
}

/** One set-up with all that judging its frames needs. */
export interface SetupState {
  id: string;
  track: number;
  frames: readonly SequenceFrame[];
  lights: readonly FrameLight[];
  casts: readonly FrameCast[];
  medians: SetupMedians;
  arrangement: Arrangement;
  change: ArrangementChange | null;
  previousId: string | null;
  departure: Departure | null;
  /** Id of the set-up that `departure` is measured from. */
  departedFromId: string | null;
  /** Id of an earlier set-up of the same arrangement. */
  againId: string | null;
}

/** What a cause looks at for one frame. */
export interface FrameContext {
  frame: SequenceFrame;
  light: FrameLight;
  cast: FrameCast;
  setup: SetupState;
  /** Index in its set-up. */
  index: number;
  plan: ShootPlan;
  lightKind: LightKindDecision;
  /** Milliseconds since the frame before of the same camera; null when a time is missing. */
  sincePreviousMs: Unknown;
  /** Median of that over the camera's frames. */
  usualIntervalMs: Unknown;
}

export function judgeWithin(frames: readonly SequenceFrame[]): {
  lights: FrameLight[];
  casts: FrameCast[];
  medians: SetupMedians;
} {
  const of = (read: (frame: SequenceFrame) => Unknown): Unknown => medianKnown(frames.map(read));
  const lights = lightsOf(frames);
  return {
    lights,
    casts: castsOf(frames),
    medians: {
      sideToSideStops: of((frame) => frame.facts.sideToSideStops),
      sideToSideSpreadStops: spreadKnown(frames.map((frame) => frame.facts.sideToSideStops)),
      wallSpreadStops: spreadKnown(lights.map((light) => light.wallStops)),
      highlightsShare: of((frame) => frame.facts.measurement.clipping.highlights.anyChannelShare),
      largestHighlightAreaShare: of((frame) => frame.facts.measurement.clipping.highlights.largestAreaShare),
      facesShare: of((frame) => frame.facts.measurement.clipping.highlights.inFacesShare),
      blacksShare: of((frame) => frame.facts.measurement.clipping.blacks.allChannelsShare),
      personToBackgroundStops: of((frame) => frame.facts.personToBackgroundStops),
    },
  };
}

export function changeOfArrangement(before: Arrangement, after: Arrangement, shutterWeight: number): ArrangementChange {
  return changeBetween(before, after, shutterWeight);
}
