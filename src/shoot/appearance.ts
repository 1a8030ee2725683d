import type { AppearanceFacts, FrameFacts } from './facts.js';

/*
 * Which frames of one set-up show the same sitter, told from statistics of clothing and skin alone and
 * kept nowhere. Differences of torso and skin are used first: they do not move with the amount or the
 * colour of the light. Scales are the usual scatter from pose, crop and noise; ours.
 */
const SCALES: Record<keyof AppearanceFacts, number> = {
  torsoMinusSkinLogRg: 0.08,
  torsoMinusSkinLogBg: 0.1,
  torsoMinusFaceStops: 0.18,
  skinLogRg: 0.15,
  skinLogBg: 0.2,
};
const KEYS = Object.keys(SCALES) as (keyof AppearanceFacts)[];
/** Root-mean-square distance, in scales, up to which two frames are taken for one sitter. Ours. */
const SAME_SITTER_DISTANCE = 1.8;
/** How many of the latest sitters a frame is compared with; keeps long shoots linear. */
const SITTERS_REMEMBERED = 40;

type Vector = Record<keyof AppearanceFacts, number | null>;

interface Group {
  id: number;
  mean: Vector;
  counts: Record<keyof AppearanceFacts, number>;
}

/** Root mean square of the scaled differences; null when fewer than two features are known in both. */
export function appearanceDistance(a: Vector, b: Vector): number | null {
  let sum = 0;
  let count = 0;
  for (const key of KEYS) {
    const x = a[key];
    const y = b[key];
    if (x === null || y === null) continue;
    sum += ((x - y) / SCALES[key]) ** 2;
    count++;
  }
  return count < 2 ? null : Math.sqrt(sum / count);
}

/**
 * Sitter number of each frame, in order. A frame without appearance belongs to the sitter of both its
 * neighbours when they agree; so does a single frame that looks like nobody else.
 *
 * @param grouping off: every frame stands alone
 */
export function groupSitters(frames: readonly FrameFacts[], grouping: boolean): number[] {
  if (!grouping) return frames.map((_, i) => i);
  const groups: Group[] = [];
  const sitters: number[] = [];
  let nextId = 0;
  for (const frame of frames) {
    const nearest = nearestGroup(groups, frame.appearance);
    if (nearest !== null) {
      learn(nearest, frame.appearance);
      sitters.push(nearest.id);
      continue;
    }
    const group = newGroup(nextId++);
    learn(group, frame.appearance);
    if (hasAppearance(frame.appearance)) {
      groups.unshift(group);
      if (groups.length > SITTERS_REMEMBERED) groups.pop();
    }
    sitters.push(group.id);
  }
  return absorbStrays(sitters);
}

function hasAppearance(appearance: AppearanceFacts): boolean {
  return KEYS.filter((key) => appearance[key] !== null).length >= 2;
}

function newGroup(id: number): Group {
  const mean = Object.fromEntries(KEYS.map((key) => [key, null])) as Vector;
  const counts = Object.fromEntries(KEYS.map((key) => [key, 0])) as Record<keyof AppearanceFacts, number>;
  return { id, mean, counts };
}

function nearestGroup(groups: readonly Group[], appearance: AppearanceFacts): Group | null {
  let best: Group | null = null;
  let bestDistance = SAME_SITTER_DISTANCE;
  for (const group of groups) {
    const distance = appearanceDistance(group.mean, appearance);
    if (distance !== null && distance < bestDistance) {
      best = group;
      bestDistance = distance;
    }
  }
  return best;
}

function learn(group: Group, appearance: AppearanceFacts): void {
  for (const key of KEYS) {
    const value = appearance[key];
    if (value === null) continue;
    group.counts[key]++;
    group.mean[key] = (group.mean[key] ?? 0) + (value - (group.mean[key] ?? 0)) / group.counts[key];
  }
}

/** One or two frames that look like nobody else, between frames of one sitter, are that sitter. */
function absorbStrays(sitters: readonly number[]): number[] {
  const sizes = new Map<number, number>();
  for (const id of sitters) sizes.set(id, (sizes.get(id) ?? 0) + 1);
  const stray = (i: number): boolean => i < sitters.length && (sizes.get(sitters[i] as number) ?? 0) <= 2;
  const absorbed = [...sitters];
  for (let i = 1; i < sitters.length; i++) {
    if (!stray(i)) continue;
    let end = i;
    while (end < sitters.length && stray(end) && end - i < 2) end++;
    const before = absorbed[i - 1] as number;
    if (end < sitters.length && sitters[end] === before) absorbed.fill(before, i, end);
  }
  return absorbed;
}
