import type { FrameFacts } from './facts.js';
import { shutterStops } from './ambient-share.js';
import { groupSitters } from './group-sitters.js';
import { automaticFrames } from './automatic-frames.js';
import { difference, type Unknown } from './known.js';
import type { LightKindDecision } from './light-kind.js';
import { faceAround } from './same-sitter-around.js';

/** One frame in its track, with what the settings do taken out. */
export interface SequenceFrame {
  facts: FrameFacts;
  sitter: number;
  /** The face against the frames around, settings removed, where no look-alike can be meant; see same-sitter-around.ts. */
  faceAgainstAroundStops: Unknown;
  /** Sv - Av - what the shutter counts for: how bright the settings make any scene, in stops. Those of the frame before where unknown. */
  settingsStops: number;
  settingsKnown: boolean;
  /** The camera chose the exposure, by a program or an automatic ISO. */
  automatic: boolean;
  /** How far the light had drifted when this frame was made, taken out of the light below; 0 without a drift. */
  driftStops: number;
  /** Level of the wall minus settings: moves with the light (and the wall), never with skin. */
  wallLightStops: number | null;
  /** Level of the subject minus settings: moves with the light and with who stands there. */
  subjectLightStops: number | null;
}

/**
 * @param frames one track in time order
 * @param light how much the shutter counts
 * @param grouping whether frames of one sitter may be compared as such
 */
export function sequenceOf(frames: readonly FrameFacts[], light: ShutterLight, grouping: boolean): SequenceFrame[] {
  let latest = frames.map((frame) => settingsOf(frame, light)).find((stops) => stops !== null) ?? 0;
  const automatic = automaticFrames(frames);
  const sequence = frames.map((facts, i): SequenceFrame => {
    const own = settingsOf(facts, light);
    if (own !== null) latest = own;
    return {
      facts,
      sitter: 0,
      faceAgainstAroundStops: null,
      settingsStops: latest,
      settingsKnown: own !== null,
      automatic: automatic[i] === true,
      driftStops: 0,
      wallLightStops: difference(facts.backgroundLevelStops, latest),
      subjectLightStops: difference(facts.subjectLevelStops, latest),
    };
  });
  const seen = sequence.map(({ facts, settingsStops, wallLightStops }) => ({
    appearance: facts.appearance,
    faceLightStops: difference(facts.levels.face, settingsStops),
    wallLightStops,
  }));
  const sitters = groupSitters(seen, grouping);
  const around = grouping ? faceAround(seen, sitters) : sitters.map(() => null);
  sequence.forEach((frame, i) => {
    frame.sitter = sitters[i] ?? i;
    frame.faceAgainstAroundStops = difference(seen[i]?.faceLightStops ?? null, around[i] ?? null);
  });
  return sequence;
}

/** 0 flash, 1 continuous; between: mixed, at the shutter of `usualTv`. */
type ShutterLight = Pick<LightKindDecision, 'shutterWeight' | 'usualTv'>;

function settingsOf({ av, tv, sv }: FrameFacts, { shutterWeight, usualTv }: ShutterLight): number | null {
  if (av === null || sv === null) return null;
  if (shutterWeight === 0) return sv - av;
  return tv === null ? null : sv - av + shutterStops(tv, shutterWeight, usualTv);
}
