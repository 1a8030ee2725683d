import { robustSigma } from '../../photometry/robust-statistics.js';
import { medianKnown } from '../known.js';
import { isPlain, mayBeOne, type ClockEvent } from './clock-events.js';

/** How far one camera's clock runs ahead of another's. */
export interface FoundOffset {
  aheadMs: number;
  errorMs: number;
  /** Moments that both cameras saw, and how many of them were plain changes of light. */
  events: number;
  plain: number;
}

/** Two cameras stop and begin within so much of each other. Ours. */
const EDGE_MS = 75_000;
/** Fewer common moments tell a clock from chance no better. Ours. */
const LEAST = { events: 3, plain: 2, shareOfFewer: 0.5 } as const;
/** A second offset that explains this share of the best one's moments leaves it open. Ours. */
const RIVAL_SHARE = 0.7;

/**
 * How far the clock of the second camera is ahead of the first one's, from moments that both saw: the light changed in the
 * same way, or both paused. Each pair of like moments proposes an offset; the one under which most moments coincide wins,
 * provided that enough do and no other offset does nearly as well. Null where the evidence is not enough.
 */
export function findOffset(first: readonly ClockEvent[], second: readonly ClockEvent[]): FoundOffset | null {
  const tried = proposalsOf(first, second).map((aheadMs) => ({ aheadMs, match: coincide(first, second, aheadMs) }));
  let best: (typeof tried)[number] | null = null;
  for (const one of tried) if (best === null || one.match.score > best.match.score) best = one;
  if (best === null) return null;
  const middle = medianKnown(best.match.edgesMs) ?? best.aheadMs;
  const match = coincide(first, second, middle);
  const rival = Math.max(
    0,
    ...tried.filter(({ aheadMs }) => Math.abs(aheadMs - middle) > 2 * EDGE_MS).map((one) => one.match.score),
  );
  const fewer = Math.min(first.filter(isPlain).length, second.filter(isPlain).length);
  if (match.events < LEAST.events || match.plain < LEAST.plain || match.plain < LEAST.shareOfFewer * fewer) return null;
  if (rival > RIVAL_SHARE * match.score) return null;
  const aheadMs = medianKnown(match.edgesMs) ?? middle;
  // A median's standard error, sqrt(pi / 2) times that of a mean; a clock is never known to better than a second.
  const spread = robustSigma(match.edgesMs) ?? EDGE_MS;
  const errorMs = Math.max(1000, (Math.sqrt(Math.PI / 2) * spread) / Math.sqrt(match.edgesMs.length));
  return { aheadMs, errorMs, events: match.events, plain: match.plain };
}

/** Offsets that bring an edge of one moment onto the same edge of another, earliest first. */
function proposalsOf(first: readonly ClockEvent[], second: readonly ClockEvent[]): number[] {
  const proposals: number[] = [];
  for (const a of first)
    for (const b of second)
      if (isPlain(a) && isPlain(b) && mayBeOne(a, b)) proposals.push(b.beforeMs - a.beforeMs, b.afterMs - a.afterMs);
  return proposals.sort((x, y) => x - y);
}

interface Match {
  score: number;
  events: number;
  plain: number;
  /** What each edge that lies within EDGE_MS of the offset says it is. */
  edgesMs: number[];
}

/** Pairs the moments in order of time under an offset; each moment is used once. */
function coincide(first: readonly ClockEvent[], second: readonly ClockEvent[], aheadMs: number): Match {
  const match: Match = { score: 0, events: 0, plain: 0, edgesMs: [] };
  let next = 0;
  for (const a of first)
    for (let k = next; k < second.length; k++) {
      const b = second[k] as ClockEvent;
      const edges = [b.beforeMs - a.beforeMs, b.afterMs - a.afterMs].filter((ms) => Math.abs(ms - aheadMs) <= EDGE_MS);
      // The moment lies between the frames of both cameras.
      const overlap = Math.min(a.afterMs, b.afterMs - aheadMs) - Math.max(a.beforeMs, b.beforeMs - aheadMs);
      if (edges.length === 0 || overlap < -EDGE_MS / 2 || !mayBeOne(a, b)) continue;
      const plain = isPlain(a) && isPlain(b);
      match.score += plain ? 2 : 1;
      match.events++;
      match.plain += plain ? 1 : 0;
      match.edgesMs.push(...edges);
      next = k + 1;
      break;
    }
  return match;
}
