import { looksDistance, looksOf, type Looks } from './appearance.js';
import { difference, medianKnown, medianOf, once, type Unknown } from './known.js';
import type { SequenceFrame } from './sequence.js';

/** One sitter of an arrangement: how they look and how much light is on them, worked out when first asked for. */
export interface SeenSitter {
  looks: () => Looks;
  subjectStops: () => Unknown;
}

/** The sitters of some frames by number and by what their level is read from, in order of appearance. */
export function sittersIn(frames: readonly SequenceFrame[]): ReadonlyMap<number, SeenSitter> {
  const groups = new Map<number, SequenceFrame[]>();
  for (const frame of frames) {
    const { basis } = frame.facts;
    if (basis === 'frame') continue;
    const key = 2 * frame.sitter + (basis === 'face' ? 0 : 1);
    const group = groups.get(key);
    if (group === undefined) groups.set(key, [frame]);
    else group.push(frame);
  }
  return new Map(
    [...groups].map(([key, own]) => [
      key,
      {
        looks: once(() => looksOf(own.map(({ facts }) => facts))),
        subjectStops: once(() => medianOf(own, (frame) => frame.subjectLightStops)),
      },
    ]),
  );
}

/** How alike a sitter must look on both sides of a boundary to be compared across it; see appearance.ts. Ours. */
const SAME_ACROSS = 0.75;

type Sitters = ReadonlyMap<number, SeenSitter>;

/** Median over the sitters who are on both sides of how much brighter each became, settings taken out. */
export function sharedSubjectChange(before: Sitters, after: Sitters): Unknown {
  const changes: Unknown[] = [];
  for (const [key, now] of after) {
    const then = before.get(key);
    if (then === undefined) continue;
    const distance = looksDistance(then.looks(), now.looks());
    if (distance === null || distance > SAME_ACROSS) continue;
    changes.push(difference(now.subjectStops(), then.subjectStops()));
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
export function recognisedSubjectChange(before: Sitters, after: Sitters): Unknown {
  const earlier = [...before.values()].slice(-SITTERS_ASKED);
  const later = [...after.values()].slice(0, SITTERS_ASKED);
  const pairs: { change: Unknown; distance: number }[] = [];
  for (const now of later) {
    const then = nearestOf(now, earlier);
    // Each has to be the other's nearest: one look-alike is not taken for two people.
    if (then !== null && nearestOf(then.sitter, later)?.sitter === now)
      pairs.push({ change: difference(now.subjectStops(), then.sitter.subjectStops()), distance: then.distance });
  }
  const nearest = Math.min(...pairs.map(({ distance }) => distance));
  const trusted = Math.max(SURELY, TRUSTED_TIMES * nearest);
  return medianKnown(pairs.filter(({ distance }) => distance <= trusted).map(({ change }) => change));
}

function nearestOf(sitter: SeenSitter, among: readonly SeenSitter[]): { sitter: SeenSitter; distance: number } | null {
  let best: { sitter: SeenSitter; distance: number } | null = null;
  for (const other of among) {
    const distance = looksDistance(sitter.looks(), other.looks(), true);
    if (distance !== null && distance <= RECOGNISED && distance < (best?.distance ?? Infinity))
      best = { sitter: other, distance };
  }
  return best;
}
