import { TELLING, type ArrangementChange } from '../arrangement-change.js';
import type { Track } from '../build-setups.js';
import type { Unknown } from '../known.js';
import type { SequenceFrame } from '../sequence.js';
import { intervalMs, isPause } from '../signals.js';

/** Something that every camera of a shoot sees at the same moment: the light changes, or all stop for a while. */
export interface ClockEvent {
  /** The camera's last frame before and first frame after, by its own clock. */
  beforeMs: number;
  afterMs: number;
  /** How the light changed, settings taken out; null for a mere pause. */
  light: { wallStops: Unknown; mired: Unknown } | null;
}

/** More events than these, the earliest of them, make two clocks no better known; the work grows with their cube. */
const MOST_EVENTS = 40;

/** What a camera's frames tell of moments that others saw as well: set-ups that begin, and pauses inside of them. */
export function clockEventsOf({ setups, usualIntervalMs }: Track): ClockEvent[] {
  const events: ClockEvent[] = [];
  setups.forEach(({ frames, change }, i) => {
    const before = setups[i - 1]?.frames.at(-1);
    const first = frames[0];
    if (change !== null && before !== undefined && first !== undefined) add(events, before, first, lightOf(change));
    frames.forEach((frame, k) => {
      const previous = frames[k - 1];
      if (previous !== undefined && isPause(intervalMs(previous, frame), usualIntervalMs))
        add(events, previous, frame, null);
    });
  });
  return events.slice(0, MOST_EVENTS);
}

function add(events: ClockEvent[], before: SequenceFrame, after: SequenceFrame, light: ClockEvent['light']): void {
  const [beforeMs, afterMs] = [before.facts.epochMs, after.facts.epochMs];
  if (beforeMs !== null && afterMs !== null) events.push({ beforeMs, afterMs, light });
}

const lightOf = ({ wallLightStops, mired }: ArrangementChange): ClockEvent['light'] => ({
  wallStops: wallLightStops,
  mired,
});

/** The light changed so plainly that another camera must have seen it. */
export function isPlain({ light }: ClockEvent): boolean {
  if (light === null) return false;
  return Math.abs(light.wallStops ?? 0) >= TELLING.wallAloneStops || Math.abs(light.mired ?? 0) >= TELLING.mired;
}

/** How far two cameras' readings of one change may differ: other place, other tone curve, other white balance. Ours. */
const SAME_CHANGE = { stops: 0.35, share: 0.25, mired: 15 } as const;

/** Whether two cameras may have seen the same: no reading that both have contradicts. */
export function mayBeOne(a: ClockEvent, b: ClockEvent): boolean {
  if (a.light === null || b.light === null) return a.light === b.light;
  const near = (x: Unknown, y: Unknown): boolean =>
    x === null ||
    y === null ||
    Math.abs(x - y) <= SAME_CHANGE.stops + SAME_CHANGE.share * Math.max(Math.abs(x), Math.abs(y));
  const [warm, warmer] = [a.light.mired, b.light.mired];
  const colour = warm === null || warmer === null || Math.abs(warm - warmer) <= SAME_CHANGE.mired;
  return near(a.light.wallStops, b.light.wallStops) && colour;
}
