import { MAD_TO_SIGMA } from '../photometry/robust-statistics.js';

/** Statistics over values of which some are unknown (null); the unknown ones take no part. */
export type Unknown = number | null;

export function known(values: readonly Unknown[]): number[] {
  return values.filter((value): value is number => value !== null);
}

/** Working room of medianOf; judging takes many thousands of small medians. */
let room = new Float64Array(256);
/** Up to here insertion beats the library's sort. */
const FEW = 24;

/** Median of what `read` gives for the items, unknown ones left out; null without any. Even counts: mean of the middle two. */
export function medianOf<T>(items: readonly T[], read: (item: T, index: number) => Unknown): number | null {
  const count = sortInRoom(items, read);
  if (count === 0) return null;
  const upper = room[count >> 1] as number;
  return count % 2 === 1 ? upper : ((room[(count >> 1) - 1] as number) + upper) / 2;
}

/** The same for values on a dial, where the mean of two is neither: even counts give the lower of the middle two. */
export function middleOf<T>(items: readonly T[], read: (item: T, index: number) => Unknown): number | null {
  const count = sortInRoom(items, read);
  return count === 0 ? null : (room[(count - 1) >> 1] as number);
}

function sortInRoom<T>(items: readonly T[], read: (item: T, index: number) => Unknown): number {
  if (items.length > room.length) room = new Float64Array(2 * items.length);
  let count = 0;
  for (let i = 0; i < items.length; i++) {
    const value = read(items[i] as T, i);
    if (value !== null) room[count++] = value;
  }
  if (count <= FEW) insertionSort(count);
  else room.subarray(0, count).sort();
  return count;
}

function insertionSort(count: number): void {
  for (let i = 1; i < count; i++) {
    const value = room[i] as number;
    let at = i - 1;
    while (at >= 0 && (room[at] as number) > value) {
      room[at + 1] = room[at] as number;
      at--;
    }
    room[at + 1] = value;
  }
}

/** Median of the known values; null without any. */
export function medianKnown(values: readonly Unknown[]): number | null {
  return medianOf(values, (value) => value);
}

/** Robust standard deviation of the known values, 1.4826 x MAD as in robust-statistics.ts; null under two. */
export function spreadKnown(values: readonly Unknown[]): number | null {
  const middle = medianKnown(values);
  if (middle === null || values.filter((value) => value !== null).length < 2) return null;
  const deviation = medianOf(values, (value) => (value === null ? null : Math.abs(value - middle)));
  return deviation === null ? null : MAD_TO_SIGMA * deviation;
}

/** Robust standard deviation of one value, from the differences of neighbours: blind to steps and slow drift. */
export function neighbourSpread(values: readonly Unknown[]): number | null {
  const list = known(values);
  return spreadFromDifferences(list.slice(1).map((value, i) => value - (list[i] as number)));
}

/** Robust standard deviation of one value, from differences of two that should be alike; null under two differences. */
export function spreadFromDifferences(differences: readonly number[]): number | null {
  if (differences.length < 2) return null;
  const middle = medianKnown(differences.map(Math.abs));
  return middle === null ? null : (MAD_TO_SIGMA * middle) / Math.SQRT2;
}

export function difference(a: Unknown, b: Unknown): number | null {
  return a === null || b === null ? null : a - b;
}

/** For reports: four decimals are far below what can be measured, and -0 is 0. */
export function rounded(value: Unknown, decimals = 4): number | null {
  if (value === null || !Number.isFinite(value)) return null;
  const scale = 10 ** decimals;
  return Math.round(value * scale) / scale + 0;
}

/** Works something out when it is first asked for, and keeps it. */
export function once<T>(workOut: () => T): () => T {
  let kept: { value: T } | null = null;
  return () => (kept ??= { value: workOut() }).value;
}
