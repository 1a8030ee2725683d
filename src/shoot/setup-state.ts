import type { ExposureAutomation } from '../contracts/report.js';
import type { PlannedSetup, ShootPlan } from '../contracts/plan.js';
import { type Arrangement } from './arrangement.js';
import { type ArrangementChange } from './arrangement-change.js';
import { castsOf, type FrameCast } from './cast.js';
import { lightsOf, type FrameLight } from './deviation.js';
import type { SetupDrift } from './drift-spans.js';
import { difference, medianOf, spreadKnown, type Unknown } from './known.js';
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
  someFlashFired: boolean;
  /** Side to side of each sitter. */
  sitterSideToSideStops: ReadonlyMap<number, Unknown>;
  /** How far each sitter's leg skin differs from the others' by itself, as far as told by three sitters or more. */
  sitterLegSkinStops: ReadonlyMap<number, Unknown>;
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
  /** Light that drifts over the set-up, which is taken out of `lights`. */
  drift: SetupDrift | null;
  /** Exposure that the camera moved under steady light. */
  automation: ExposureAutomation | null;
  previousId: string | null;
  departure: Departure | null;
  /** Id of the set-up that `departure` is measured from. */
  departedFromId: string | null;
  /** Id of an earlier set-up of the same arrangement. */
  againId: string | null;
}

/**
 * How far a frame stands from the level its set-up was metered for: its own deviation, how far the light had drifted by
 * then, and its set-up's departure.
 */
export function totalOf({ light, setup, frame }: FrameContext): {
  settingsStops: number;
  lightStops: Unknown;
  levelStops: Unknown;
} {
  const { settingsStops: settings, lightStops: departed } = setup.departure ?? { settingsStops: 0, lightStops: 0 };
  const plus = (own: Unknown, more: number): Unknown => (own === null ? null : own + more);
  return {
    settingsStops: light.settingsStops + settings,
    lightStops: plus(light.lightStops, departed + frame.driftStops),
    levelStops: plus(light.levelStops, settings + departed + frame.driftStops),
  };
}

/** What a cause looks at for one frame. */
export interface FrameContext {
  frame: SequenceFrame;
  light: FrameLight;
  cast: FrameCast;
  setup: SetupState;
  /** Index in its set-up. */
  index: number;
  /** The plan as it holds for this frame. */
  plan: ShootPlan;
  planned: PlannedSetup | null;
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
  const of = (read: (frame: SequenceFrame) => Unknown): Unknown => medianOf(frames, read);
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
      someFlashFired: frames.some((frame) => frame.facts.flashFired === true),
      sitterSideToSideStops: mediansBy(
        frames,
        (frame) => frame.sitter,
        (frame) => frame.facts.sideToSideStops,
      ),
      sitterLegSkinStops: legSkins(frames),
    },
  };
}

/** Fewer sitters do not tell light from skin. */
const LEAST_SITTERS = 3;

/** Under one light the sitters' falls from face to legs differ by skin alone: each sitter's median minus the median of all. */
function legSkins(frames: readonly SequenceFrame[]): Map<number, Unknown> {
  const falls = mediansBy(
    frames,
    (frame) => frame.sitter,
    (frame) => frame.facts.main?.faceToLowerBodyLightStops ?? null,
  );
  if (falls.size < LEAST_SITTERS) return new Map();
  const usual = medianOf([...falls.values()], (fall) => fall);
  return new Map([...falls].map(([sitter, fall]) => [sitter, difference(fall, usual)]));
}

function mediansBy<K>(
  frames: readonly SequenceFrame[],
  keyOf: (frame: SequenceFrame) => K,
  read: (frame: SequenceFrame) => Unknown,
): Map<K, Unknown> {
  const groups = new Map<K, Unknown[]>();
  for (const frame of frames) {
    const value = read(frame);
    if (value === null) continue;
    const key = keyOf(frame);
    const group = groups.get(key);
    if (group === undefined) groups.set(key, [value]);
    else group.push(value);
  }
  return new Map([...groups].map(([key, values]) => [key, medianOf(values, (value) => value)]));
}
