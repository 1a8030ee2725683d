import { looksDistance, looksOf, type Looks } from './appearance.js';
import { difference, known, medianKnown, medianOf, once, type Unknown } from './known.js';
import type { SequenceFrame } from './sequence.js';

/** One sitter of an arrangement: how they look and how much light is on them, worked out when first asked for. */
export interface SeenSitter {
  looks: () => Looks;
  subjectStops: () => Unknown;
  /** Medians of facts.ts; null under two frames that tell. */
  fallOffStops: () => Unknown;
  profileSlopeStops: () => Unknown;
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
        fallOffStops: once(() => usual(own.map(({ facts }) => facts.fallOffStops))),
        profileSlopeStops: once(() => usual(own.map(({ facts }) => facts.profileSlopeStops))),
      },
    ]),
  );
}

const usual = (values: readonly Unknown[]): Unknown => (known(values).length < 2 ? null : medianKnown(values));

/** How alike a sitter must look on both sides of a boundary to be compared across it; see appearance.ts. Ours. */
const SAME_ACROSS = 0.75;

type Sitters = ReadonlyMap<number, SeenSitter>;

/** Median over the sitters who are on both sides of how much brighter each became, settings taken out. */
export function sharedSubjectChange(before: Sitters, after: Sitters): Unknown {
  return medianKnown(inBoth(before, after).map(([then, now]) => difference(now.subjectStops(), then.subjectStops())));
}

function inBoth(before: Sitters, after: Sitters): [SeenSitter, SeenSitter][] {
  const pairs: [SeenSitter, SeenSitter][] = [];
  for (const [key, now] of after) {
    const then = before.get(key);
    if (then === undefined) continue;
    const distance = looksDistance(then.looks(), now.looks());
    if (distance !== null && distance <= SAME_ACROSS) pairs.push([then, now]);
  }
  return pairs;
}

/** How the light's fall down the body changed, and who says so. */
export interface FallOffChange {
  /** More falls off: positive. */
  stops: Unknown;
  /** Skin of the same sitters, their whole bodies in the same clothes, or skin of others, which differs by itself. */
  by: 'own-skin' | 'own-profile' | 'other-skin' | null;
}

/** Fewer sitters on one side tell no light from their own legs. */
const LEAST_OTHERS = 2;

/** The best word on the fall-off: skin of sitters who are on both sides, else their profiles, else skin of everybody. */
export function fallOffChange(before: Sitters, after: Sitters): FallOffChange {
  const pairs = inBoth(before, after);
  const own = medianKnown(pairs.map(([then, now]) => difference(now.fallOffStops(), then.fallOffStops())));
  if (own !== null) return { stops: own, by: 'own-skin' };
  const profile = medianKnown(
    pairs.map(([then, now]) => difference(then.profileSlopeStops(), now.profileSlopeStops())),
  );
  if (profile !== null) return { stops: profile, by: 'own-profile' };
  const skins = (sitters: Sitters): number[] => known([...sitters.values()].map((sitter) => sitter.fallOffStops()));
  const [then, now] = [skins(before), skins(after)];
  if (then.length < LEAST_OTHERS || now.length < LEAST_OTHERS) return { stops: null, by: null };
  return { stops: difference(medianKnown(now), medianKnown(then)), by: 'other-skin' };
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
