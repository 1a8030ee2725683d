import type { JudgedFrameInput } from './input.js';

const byName = (a: JudgedFrameInput, b: JudgedFrameInput): number => compareNames(a.name, b.name);

/** Runs of digits compare as numbers, the rest by code unit; equal that way, plain code units decide. */
export function compareNames(a: string, b: string): number {
  const split = /(\d+)/;
  const as = a.split(split);
  const bs = b.split(split);
  for (let i = 0; i < Math.min(as.length, bs.length); i++) {
    const x = as[i] ?? '';
    const y = bs[i] ?? '';
    if (x === y) continue;
    if (i % 2 === 1) {
      const difference = Number(x) - Number(y);
      if (difference !== 0 && Number.isFinite(difference)) return difference;
    }
    return x < y ? -1 : 1;
  }
  if (as.length !== bs.length) return as.length - bs.length;
  return a < b ? -1 : a > b ? 1 : 0;
}

/**
 * Frames in the order in which they were made: by captured time (sub-seconds included), equal times by
 * name. A frame without a time goes behind the last frame whose name precedes it; where no frame has a
 * time, by name alone. The order of the input never matters.
 *
 * @param clockAheadMs how far the clock of a frame's camera runs ahead, which is taken off
 * @returns a new array; the input is left alone
 * @example orderFrames([b, a]).map((frame) => frame.name)
 */
export function orderFrames(
  frames: readonly JudgedFrameInput[],
  clockAheadMs: (frame: JudgedFrameInput) => number = () => 0,
): JudgedFrameInput[] {
  const timed: { frame: JudgedFrameInput; epochMs: number }[] = [];
  const untimed: JudgedFrameInput[] = [];
  for (const frame of frames) {
    const epochMs = frame.measurement?.exposure.capturedAt?.epochMs;
    if (epochMs === undefined || !Number.isFinite(epochMs)) untimed.push(frame);
    else timed.push({ frame, epochMs: epochMs - clockAheadMs(frame) });
  }
  timed.sort((a, b) => a.epochMs - b.epochMs || byName(a.frame, b.frame));
  untimed.sort(byName);
  const inTime = timed.map((entry) => entry.frame);
  if (inTime.length === 0 || untimed.length === 0) return [...inTime, ...untimed];
  return insertByName(inTime, untimed);
}

function insertByName(inTime: JudgedFrameInput[], untimed: JudgedFrameInput[]): JudgedFrameInput[] {
  const placeInTime = new Map(inTime.map((frame, place) => [frame, place]));
  const timedByName = [...inTime].sort(byName);
  const behind = new Map<number, JudgedFrameInput[]>();
  let reached = 0;
  for (const frame of untimed) {
    while (reached < timedByName.length && byName(timedByName[reached] as JudgedFrameInput, frame) < 0) reached++;
    const before = timedByName[reached - 1];
    const place = before === undefined ? -1 : (placeInTime.get(before) ?? -1);
    const group = behind.get(place);
    if (group === undefined) behind.set(place, [frame]);
    else group.push(frame);
  }
  const ordered = [...(behind.get(-1) ?? [])];
  inTime.forEach((frame, place) => ordered.push(frame, ...(behind.get(place) ?? [])));
  return ordered;
}
