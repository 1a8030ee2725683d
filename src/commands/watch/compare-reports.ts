import type { ReportFrame, Setup, ShootReport } from '../../contracts/report.js';
import type { WatchEvent } from '../../contracts/watch.js';
import { adviceFor } from '../../render/advice-words.js';

/** What came since the report before. */
export interface Arrived {
  path: string;
  replaced: boolean;
}

/** The set-up of the report before that each set-up of this one goes on from; each is gone on from once at most. */
function carriedOn(before: readonly Setup[], after: readonly Setup[]): Map<string, string> {
  const setupOf = new Map(before.flatMap(({ id, frames }) => frames.map((name) => [name, id] as const)));
  const shared = after.flatMap(({ id, frames }) => {
    const counts = new Map<string, number>();
    for (const name of frames) {
      const old = setupOf.get(name);
      if (old !== undefined) counts.set(old, (counts.get(old) ?? 0) + 1);
    }
    return [...counts].map(([old, count]) => ({ id, old, count }));
  });
  shared.sort((a, b) => b.count - a.count);
  const from = new Map<string, string>();
  const taken = new Set<string>();
  for (const { id, old } of shared) {
    if (from.has(id) || taken.has(old)) continue;
    from.set(id, old);
    taken.add(old);
  }
  return from;
}

const unique = <T>(values: Iterable<T>): T[] => [...new Set(values)];

/**
 * What a judgement after some frames more (or fewer) says anew, in the order in which to tell it: frames gone, set-ups
 * that were none, set-ups that begin, the frames that came, other renderings, and earlier frames judged otherwise.
 * A set-up that is merely numbered anew is no news.
 */
export function compareReports(
  before: ShootReport | null,
  after: ShootReport,
  arrived: ReadonlyMap<string, Arrived>,
  removed: readonly string[],
): WatchEvent[] {
  const events: WatchEvent[] = removed.map((name) => ({ event: 'removed', name }));
  const old = before?.setups ?? [];
  const from = carriedOn(old, after.setups);
  const now = new Map(after.frames.map((frame) => [frame.name, frame]));
  const kept = new Set(from.values());
  for (const { id, frames } of old) {
    if (kept.has(id)) continue;
    const nowIn = unique(frames.flatMap((name) => now.get(name)?.setup ?? []));
    if (nowIn.length > 0) events.push({ event: 'setup-dropped', id, nowIn });
  }
  for (const { id, firstFrame, description, changeFromPrevious } of after.setups) {
    if (!from.has(id)) events.push({ event: 'setup', id, firstFrame, description, changeFromPrevious });
  }
  for (const frame of after.frames) {
    const came = arrived.get(frame.name);
    if (came !== undefined) events.push({ event: 'frame', ...came, frame, advice: adviceFor(frame) });
  }
  const renderingsBefore = new Set(before?.summary.otherRenderings.map(({ rendering }) => rendering));
  for (const { frame, rendering } of after.summary.otherRenderings) {
    if (arrived.has(rendering) || (before !== null && !renderingsBefore.has(rendering)))
      events.push({ event: 'rendering', name: rendering, of: frame });
  }
  const was = new Map(before?.frames.map((frame) => [frame.name, frame]));
  for (const frame of after.frames) {
    const earlier = arrived.has(frame.name) ? undefined : was.get(frame.name);
    if (earlier !== undefined && judgedOtherwise(earlier, frame, from)) {
      const { verdict, setup } = earlier;
      events.push({
        event: 'revised',
        was: { verdict, setup, flags: earlier.flags.map(({ code }) => code) },
        frame,
        advice: adviceFor(frame),
      });
    }
  }
  return events;
}

/** What is wrong with a frame, in an order of its own. */
const codesOf = ({ flags }: ReportFrame): string =>
  flags
    .flatMap(({ code, severity }) => (severity === 'note' ? [] : [code]))
    .sort()
    .join(' ');

function judgedOtherwise(before: ReportFrame, after: ReportFrame, from: ReadonlyMap<string, string>): boolean {
  if (before.verdict !== after.verdict || codesOf(before) !== codesOf(after)) return true;
  return (after.setup === null ? null : (from.get(after.setup) ?? null)) !== before.setup;
}
