import type { ShootPlan } from '../contracts/plan.js';
import { arrangementOf } from './arrangement.js';
import { changeBetween, isAnother, plainlyAnother, withRecognisedSitters } from './arrangement-change.js';
import { driftOfSetup, findDrifts, withoutDrift } from './drift-spans.js';
import { automationOf } from './automation.js';
import type { FrameFacts } from './facts.js';
import { medianKnown } from './known.js';
import type { LightKindDecision } from './light-kind.js';
import { departureOf, type Departure } from './metering.js';
import { sequenceOf, type SequenceFrame } from './sequence.js';
import { judgeWithin, type SetupState } from './setup-state.js';
import { comparing, cutAtSteps, joinPieces } from './setups.js';
import { intervalMs, isPause } from './signals.js';

export interface Track {
  frames: readonly SequenceFrame[];
  setups: SetupState[];
  /** Median time between frames; null without times. */
  usualIntervalMs: number | null;
}

/** Set-ups further back than this are not searched for "as s1 again"; keeps long shoots linear. */
const SETUPS_REMEMBERED = 60;
/** An arrangement of fewer frames is too uncertain to be recognised again. */
const LEAST_FRAMES_AGAIN = 3;

/** Finds and judges the set-ups of every track; ids s1, s2 … by the time of their first frames. */
export function buildTracks(
  tracks: readonly (readonly FrameFacts[])[],
  plan: ShootPlan,
  light: LightKindDecision,
): Track[] {
  const built = tracks.map((facts, track) =>
    buildTrack(sequenceOf(facts, light, plan.compareSitters !== false), track, light.shutterWeight),
  );
  const all = built.flatMap((track) => track.setups).sort((a, b) => firstPlace(a) - firstPlace(b));
  all.forEach((setup, i) => (setup.id = `s${i + 1}`));
  for (const track of built) linkSetups(track, plan, light.shutterWeight);
  return built;
}

export function firstPlace(setup: SetupState): number {
  return setup.frames[0]?.facts.place ?? 0;
}

function buildTrack(found: SequenceFrame[], track: number, shutterWeight: number): Track {
  const intervals = found.map((frame, i) => (i === 0 ? null : intervalMs(found[i - 1] as SequenceFrame, frame)));
  const usualIntervalMs = medianKnown(intervals);
  const pieces = cutAtSteps(found, shutterWeight);
  const drifts = findDrifts(found, pieces, shutterWeight, (i) => isPause(intervals[i] ?? null, usualIntervalMs));
  const frames = withoutDrift(found, drifts);
  const flatPieces = drifts.length === 0 ? pieces : cutAtSteps(frames, shutterWeight);
  const stretches = joinPieces(flatPieces, frames, shutterWeight);
  const change = comparing(frames, shutterWeight);
  const setups = stretches.map((stretch, i): SetupState => {
    const own = frames.slice(stretch.start, stretch.end);
    const previous = stretches[i - 1];
    const judged = judgeWithin(own);
    return {
      id: '',
      track,
      frames: own,
      ...judged,
      arrangement: arrangementOf(own),
      change: previous === undefined ? null : change(previous, stretch),
      drift: driftOfSetup(drifts, stretch),
      automation: automationOf(own, judged.lights),
      previousId: null,
      departure: null,
      departedFromId: null,
      againId: null,
    };
  });
  return { frames, setups, usualIntervalMs };
}

function linkSetups({ setups, usualIntervalMs }: Track, plan: ShootPlan, shutterWeight: number): void {
  let departure: Departure | null = null;
  setups.forEach((setup, i) => {
    const previous = setups[i - 1];
    if (previous === undefined || setup.change === null) return;
    if (plan.compareSitters !== false)
      setup.change = withRecognisedSitters(setup.change, previous.arrangement, setup.arrangement);
    const last = previous.frames.at(-1);
    const first = setup.frames[0];
    const pause = last === undefined || first === undefined ? null : intervalMs(last, first);
    departure = departureOf(setup.change, departure, i - 1, isPause(pause, usualIntervalMs), plan.toleranceStops);
    setup.previousId = previous.id;
    setup.departure = departure;
    setup.departedFromId = departure === null ? null : (setups[departure.fromSetupPlace]?.id ?? null);
    setup.againId = earlierAlike(setups, i, shutterWeight);
  });
}

/** The earliest set-up, not the one just before, of the same arrangement. */
function earlierAlike(setups: readonly SetupState[], index: number, shutterWeight: number): string | null {
  const now = setups[index] as SetupState;
  if (now.frames.length < LEAST_FRAMES_AGAIN) return null;
  for (let i = Math.max(0, index - SETUPS_REMEMBERED); i < index - 1; i++) {
    const earlier = setups[i] as SetupState;
    if (earlier.frames.length < LEAST_FRAMES_AGAIN || plainlyAnother(earlier.arrangement, now.arrangement)) continue;
    const change = changeBetween(earlier.arrangement, now.arrangement, shutterWeight);
    const comparable = change.wallLightStops !== null || change.subjectLightStops !== null;
    if (comparable && !isAnother(change)) return earlier.againId ?? earlier.id;
  }
  return null;
}
