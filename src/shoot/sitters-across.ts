import { looksDistance, looksOf, type Looks } from './appearance.js';
import { difference, medianKnown, medianOf, type Unknown } from './known.js';
import type { SequenceFrame } from './sequence.js';

/** How alike a sitter must look on both sides of a boundary to be compared across it; see appearance.ts. Ours. */
const SAME_ACROSS = 0.75;

/** Median over the sitters who are on both sides of how much brighter each became, settings taken out. */
export function sharedSubjectChange(before: readonly SequenceFrame[], after: readonly SequenceFrame[]): Unknown {
  const earlier = bySitter(before);
  const changes: Unknown[] = [];
  for (const [key, frames] of bySitter(after)) {
    const own = earlier.get(key);
    if (own === undefined) continue;
    const distance = looksDistance(looksOf(factsOfFrames(own)), looksOf(factsOfFrames(frames)));
    if (distance === null || distance > SAME_ACROSS) continue;
    changes.push(difference(subjectOf(frames), subjectOf(own)));
  }
  return medianKnown(changes);
}

/** How alike two sitters of different set-ups must look to be taken for one; other light tints both clothes and skin. Ours. */
const RECOGNISED = 1.6;
/** Pairs this alike, or as alike as so many times the most alike pair, have a say beside it. Ours. */
const SURELY = 0.6;
const TRUSTED_TIMES = 1.5;
/** Sitters on each side that are asked; keeps long shoots linear. */
const SITTERS_ASKED = 40;

/**
 * The same for sitters who are recognised by their looks across the whole of two arrangements, where nobody went on from
 * one to the other. Good for a hint, not for a fault.
 */
export function recognisedSubjectChange(before: readonly SequenceFrame[], after: readonly SequenceFrame[]): Unknown {
  const earlier = [...bySitter(before).values()].slice(-SITTERS_ASKED).map(seenOf);
  const later = [...bySitter(after).values()].slice(0, SITTERS_ASKED).map(seenOf);
  const pairs: { change: Unknown; distance: number }[] = [];
  for (const now of later) {
    const then = nearestOf(now, earlier);
    // Each has to be the other's nearest: one look-alike is not taken for two people.
    if (then !== null && nearestOf(then.sitter, later)?.sitter === now)
      pairs.push({ change: difference(now.subject, then.sitter.subject), distance: then.distance });
  }
  const nearest = Math.min(...pairs.map(({ distance }) => distance));
  const trusted = Math.max(SURELY, TRUSTED_TIMES * nearest);
  return medianKnown(pairs.filter(({ distance }) => distance <= trusted).map(({ change }) => change));
}

interface Seen {
  looks: Looks;
  subject: Unknown;
}

function nearestOf(sitter: Seen, among: readonly Seen[]): { sitter: Seen; distance: number } | null {
  let best: { sitter: Seen; distance: number } | null = null;
  for (const other of among) {
    const distance = looksDistance(sitter.looks, other.looks, true);
    if (distance !== null && distance <= RECOGNISED && distance < (best?.distance ?? Infinity))
      best = { sitter: other, distance };
  }
  return best;
}

function seenOf(frames: readonly SequenceFrame[]): Seen {
  return { looks: looksOf(factsOfFrames(frames)), subject: subjectOf(frames) };
}

const factsOfFrames = (frames: readonly SequenceFrame[]): SequenceFrame['facts'][] => frames.map(({ facts }) => facts);

const subjectOf = (frames: readonly SequenceFrame[]): Unknown => medianOf(frames, (frame) => frame.subjectLightStops);

function bySitter(frames: readonly SequenceFrame[]): Map<string, SequenceFrame[]> {
  const groups = new Map<string, SequenceFrame[]>();
  for (const frame of frames) {
    if (frame.facts.basis === 'frame') continue;
    const key = `${frame.sitter}|${frame.facts.basis}`;
    const group = groups.get(key);
    if (group === undefined) groups.set(key, [frame]);
    else group.push(frame);
  }
  return groups;
}
