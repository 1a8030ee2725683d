import type { FrameFacts } from './facts.js';
import { groupSitters } from './appearance.js';
import { automaticFrames } from './automatic-frames.js';
import { difference } from './known.js';
import { sitterIsSure } from './same-sitter-around.js';

/** One frame in its track, with what the settings do taken out. */
export interface SequenceFrame {
  facts: FrameFacts;
  sitter: number;
  /** True where no look-alike can be meant; see same-sitter-around.ts. */
  sitterSure: boolean;
  /** Sv - Av - w x Tv: how bright the settings make any scene, in stops. Those of the frame before where unknown. */
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
 * @param shutterWeight 0 flash, 1 continuous
 * @param grouping whether frames of one sitter may be compared as such
 */
export function sequenceOf(frames: readonly FrameFacts[], shutterWeight: number, grouping: boolean): SequenceFrame[] {
  let latest = frames.map((frame) => settingsOf(frame, shutterWeight)).find((stops) => stops !== null) ?? 0;
  const automatic = automaticFrames(frames);
  const sequence = frames.map((facts, i): SequenceFrame => {
    const own = settingsOf(facts, shutterWeight);
    if (own !== null) latest = own;
    return {
      facts,
      sitter: 0,
      sitterSure: false,
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
  const sure = grouping ? sitterIsSure(seen, sitters) : sitters.map(() => false);
  sequence.forEach((frame, i) => {
    frame.sitter = sitters[i] ?? i;
    frame.sitterSure = sure[i] === true;
  });
  return sequence;
}

function settingsOf({ av, tv, sv }: FrameFacts, shutterWeight: number): number | null {
  if (av === null || sv === null) return null;
  if (shutterWeight === 0) return sv - av;
  return tv === null ? null : sv - av - shutterWeight * tv;
}
