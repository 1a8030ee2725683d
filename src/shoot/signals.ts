import { difference, medianKnown, neighbourSpread, type Unknown } from './known.js';
import type { SequenceFrame } from './sequence.js';

/*
 * What the change-point search looks at: one row a signal, in units of that signal's own noise.
 * The noise is read from neighbouring frames (blind to steps), never below the floors here.
 */
export interface Signal {
  name: string;
  /** Scaled values, null where unknown. */
  values: Unknown[];
}

/** Least noise that is believed: pose, expression and framing move a level by so much. Ours. */
const FLOORS = {
  wallStops: 0.07,
  subjectStops: 0.07,
  sideToSideStops: 0.15,
  mired: 6,
  /** Leg skin differs from sitter to sitter by about this. */
  fallOffStops: 0.3,
  profileSlopeStops: 0.25,
  settingsStops: 0.15,
  focalLog2: 0.35,
  brightSide: 0.5,
} as const;
/** A pause this many times the usual interval, and at least this long, hints that things were rearranged. Ours. */
const PAUSE = { timesMedian: 8, leastMs: 60_000 } as const;
/** More changes of settings than this share of the frames: they are wandering or automatic, not set. Ours. */
const WANDERING_SHARE = 0.25;
/** Frames on each side of a change of sitter that tie the two runs together. */
const TIE_FRAMES = 5;

export function signalsOf(frames: readonly SequenceFrame[], shutterWeight: number): Signal[] {
  const facts = frames.map((frame) => frame.facts);
  const signals = [
    scaled(
      'wall',
      frames.map((frame) => frame.wallLightStops),
      FLOORS.wallStops,
    ),
    scaled('subject', subjectWithoutSitters(frames), FLOORS.subjectStops),
    scaled(
      'side-to-side',
      facts.map((fact) => fact.sideToSideStops),
      FLOORS.sideToSideStops,
    ),
    scaled(
      'cast',
      facts.map((fact) => fact.backgroundMired ?? fact.neutralMired),
      FLOORS.mired,
    ),
    scaled(
      'fall-off',
      facts.map((fact) => fact.fallOffStops),
      FLOORS.fallOffStops,
    ),
    scaled('profile', againstOwnProfile(frames), FLOORS.profileSlopeStops),
    fixed(
      'focal',
      facts.map((fact) => fact.focalLog2),
      FLOORS.focalLog2,
    ),
    fixed(
      'bright side',
      facts.map((fact) => fact.brightSide),
      FLOORS.brightSide,
    ),
    fixed('pause', pauses(frames), 0.5),
  ];
  if (!settingsWander(frames)) {
    signals.push(
      fixed(
        'aperture',
        frames.map((frame) => (frame.automatic ? null : frame.facts.av)),
        FLOORS.settingsStops,
      ),
    );
    signals.push(
      fixed(
        'sensitivity',
        frames.map((frame) => (frame.automatic ? null : frame.facts.sv)),
        FLOORS.settingsStops,
      ),
    );
    if (shutterWeight > 0)
      signals.push(
        fixed(
          'shutter',
          frames.map((frame) => (frame.automatic || frame.facts.tv === null ? null : shutterWeight * frame.facts.tv)),
          FLOORS.settingsStops,
        ),
      );
  }
  return signals.filter((signal) => signal.values.some((value) => value !== null));
}

/** True where exposure is automatic, or where settings change so often that no value is the set one. */
export function settingsWander(frames: readonly SequenceFrame[]): boolean {
  let changes = 0;
  let automatic = 0;
  frames.forEach((frame, i) => {
    if (frame.automatic) automatic++;
    const before = frames[i - 1];
    if (before !== undefined && Math.abs(before.settingsStops - frame.settingsStops) > 0.1) changes++;
  });
  return automatic > frames.length / 2 || (frames.length >= 8 && changes > frames.length * WANDERING_SHARE);
}

function scaled(name: string, values: Unknown[], floor: number): Signal {
  return fixed(name, values, Math.max(floor, neighbourSpread(values) ?? floor));
}

function fixed(name: string, values: Unknown[], scale: number): Signal {
  return { name, values: values.map((value) => (value === null ? null : value / scale)) };
}

/** Counts the long pauses so far: a step at each. */
function pauses(frames: readonly SequenceFrame[]): number[] {
  const intervals = frames.slice(1).map((frame, i) => intervalMs(frames[i] as SequenceFrame, frame));
  const usual = medianKnown(intervals);
  let count = 0;
  return frames.map((_, i) => {
    const interval = i === 0 ? null : (intervals[i - 1] ?? null);
    if (isPause(interval, usual)) count++;
    return count;
  });
}

export function isPause(interval: Unknown, usualIntervalMs: Unknown): boolean {
  if (interval === null || usualIntervalMs === null) return false;
  return interval > Math.max(PAUSE.leastMs, PAUSE.timesMedian * usualIntervalMs);
}

export function intervalMs(before: SequenceFrame, after: SequenceFrame): number | null {
  return before.facts.epochMs === null || after.facts.epochMs === null
    ? null
    : after.facts.epochMs - before.facts.epochMs;
}

/**
 * Light on the subject with the step at every change of sitter taken out: each run of one sitter is shifted
 * so that its first frames continue the last frames of the run before.
 */
function subjectWithoutSitters(frames: readonly SequenceFrame[]): Unknown[] {
  const values: Unknown[] = frames.map(() => null);
  let start = 0;
  let tail: Unknown = 0;
  while (start < frames.length) {
    const first = frames[start] as SequenceFrame;
    let end = start + 1;
    while (end < frames.length && sameRun(first, frames[end] as SequenceFrame)) end++;
    const run = frames.slice(start, end).map((frame) => frame.subjectLightStops);
    const head = medianKnown(run.slice(0, TIE_FRAMES));
    if (head !== null) {
      const offset: number = (tail ?? 0) - head;
      run.forEach((value, i) => (values[start + i] = value === null ? null : value + offset));
      tail = (medianKnown(run.slice(-TIE_FRAMES)) ?? head) + offset;
    }
    start = end;
  }
  return values;
}

function sameRun(a: SequenceFrame, b: SequenceFrame): boolean {
  return a.sitter === b.sitter && a.facts.basis === b.facts.basis;
}

/** Each frame's slope from head to feet against its sitter's usual one, since clothes make most of it. */
function againstOwnProfile(frames: readonly SequenceFrame[]): Unknown[] {
  const own = new Map<number, Unknown[]>();
  for (const { sitter, facts } of frames) {
    if (facts.profileSlopeStops === null) continue;
    const slopes = own.get(sitter);
    if (slopes === undefined) own.set(sitter, [facts.profileSlopeStops]);
    else slopes.push(facts.profileSlopeStops);
  }
  const usual = new Map([...own].map(([sitter, slopes]) => [sitter, medianKnown(slopes)]));
  return frames.map(({ sitter, facts }) => difference(facts.profileSlopeStops, usual.get(sitter) ?? null));
}
