import { slopeWithinGroups, type SlopeGroup, type SlopeWithError } from '../photometry/slope-within-groups.js';
import { medianOf, middleOf, type Unknown } from './known.js';
import type { SequenceFrame } from './sequence.js';
import { stepsBeatLine } from './steps-or-line.js';
import { wallLightsByCrop } from './wall-by-crop.js';

/** Light that moves steadily through a run of frames: a lamp that warms up, a battery that tires, the sun going. */
export interface Drift {
  stopsPerFrame: number;
  errorStopsPerFrame: number;
  witnesses: 'both' | 'wall' | 'subject';
}

/** Fewer frames tell no drift from chance. Ours. */
export const LEAST_DRIFT_FRAMES = 12;
/** Two witnesses must see so much from the first frame to the last, and so many standard errors; one alone more. Ours. */
const LEAST = { both: { stops: 0.22, errors: 4 }, alone: { stops: 0.3, errors: 6 } } as const;
/** A witness whose own error over the run is larger than this says nothing either way. Ours. */
const MUTE_FROM_STOPS = 0.25;
/** Two witnesses agree within so many joint standard errors, and this share of the slope. Ours. */
const AGREEMENT = { errors: 2.5, share: 0.3 } as const;
/** Points of a group that are used; the work grows with their square. */
const MOST_POINTS = 48;

/**
 * The drift of the light over a run of frames in time, settings taken out; null where there is none, where a step or two
 * tell the same frames better, or where wall and sitters do not agree. The wall is read with a trend of the framing taken out, each
 * sitter only against themselves, so that neither framing nor a change of sitter is a drift.
 */
export function driftIn(found: readonly SequenceFrame[]): Drift | null {
  if (found.length < LEAST_DRIFT_FRAMES || !endsApart(found)) return null;
  const frames = atUsualSettings(found);
  const walls = framingMoves(frames) ? wallLightsByCrop(frames) : frames.map((frame) => frame.wallLightStops);
  const wall = slopeWithinGroups([thinned(walls)]);
  const subject = slopeWithinGroups(sitterGroups(frames));
  const drift = weigh(wall, subject, frames.length - 1);
  if (drift === null) return null;
  const told = drift.witnesses === 'subject' ? subjectAgainstOwn(frames, drift.stopsPerFrame) : walls;
  return stepsBeatLine(told, drift.stopsPerFrame) ? null : drift;
}

/** Settings that were touched for a few frames, and the light with them perhaps, are another story. Ours. */
const TOUCHED_STOPS = 0.2;

/** The run with nothing said of the light where the settings are not its usual ones; automatic ones always vary. */
function atUsualSettings(frames: readonly SequenceFrame[]): SequenceFrame[] {
  const usual = middleOf(frames, (frame) => frame.settingsStops) ?? 0;
  return frames.map((frame) =>
    frame.automatic || Math.abs(frame.settingsStops - usual) <= TOUCHED_STOPS
      ? frame
      : { ...frame, wallLightStops: null, subjectLightStops: null },
  );
}

/** The head grows or shrinks by so much over the run (log2): the wall seen may change with it. Ours. */
const FRAMING_LOG2 = 0.4;

/** Whether the framing has a trend of its own, which the wall could follow; crops that come and go are mere noise. */
function framingMoves(frames: readonly SequenceFrame[]): boolean {
  const trend = slopeWithinGroups([thinned(frames.map((frame) => frame.facts.cropLog2))]);
  return trend !== null && Math.abs(trend.slope) * (frames.length - 1) > FRAMING_LOG2;
}

/** A quick look that most runs do not pass: the last third stands apart from the first, and the middle between. */
function endsApart(frames: readonly SequenceFrame[]): boolean {
  const third = Math.floor(frames.length / 3);
  const read = (frame: SequenceFrame): Unknown => frame.wallLightStops ?? null;
  const [first, middle, last] = [
    medianOf(frames.slice(0, third), read),
    medianOf(frames.slice(third, -third), read),
    medianOf(frames.slice(-third), read),
  ];
  if (first === null || middle === null || last === null) return true;
  const slack = 0.25 * Math.abs(last - first);
  return (
    Math.abs(last - first) >= LEAST.both.stops / 2 &&
    middle >= Math.min(first, last) - slack &&
    middle <= Math.max(first, last) + slack
  );
}

function thinned(values: readonly Unknown[]): SlopeGroup {
  const every = Math.ceil(values.length / MOST_POINTS);
  const xs: number[] = [];
  const ys: number[] = [];
  values.forEach((value, i) => {
    if (value === null || i % every !== 0) return;
    xs.push(i);
    ys.push(value);
  });
  return { xs, ys };
}

function sitterGroups(frames: readonly SequenceFrame[]): SlopeGroup[] {
  const groups = new Map<string, { xs: number[]; ys: number[] }>();
  frames.forEach(({ sitter, facts, subjectLightStops }, i) => {
    if (facts.basis === 'frame' || subjectLightStops === null) return;
    const key = `${sitter}|${facts.basis}`;
    let group = groups.get(key);
    if (group === undefined) groups.set(key, (group = { xs: [], ys: [] }));
    group.xs.push(i);
    group.ys.push(subjectLightStops);
  });
  return [...groups.values()].map(({ xs, ys }) => {
    const every = Math.ceil(xs.length / MOST_POINTS);
    const keep = (_: number, i: number): boolean => i % every === 0;
    return { xs: xs.filter(keep), ys: ys.filter(keep) };
  });
}

function weigh(wall: SlopeWithError | null, subject: SlopeWithError | null, run: number): Drift | null {
  const speaks = (slope: SlopeWithError | null): boolean =>
    slope !== null && slope.standardError * run <= MUTE_FROM_STOPS;
  if (wall !== null && subject !== null && speaks(wall) && speaks(subject)) {
    const joint = Math.hypot(wall.standardError, subject.standardError);
    const apart = Math.abs(wall.slope - subject.slope);
    if (apart > AGREEMENT.errors * joint + AGREEMENT.share * Math.abs(wall.slope)) return null;
    // The sitters bear it out; its rate is the wall's, which no sitter's skin moves.
    return enough({ ...rateOf(wall), witnesses: 'both' }, run, LEAST.both);
  }
  const alone = wall !== null && speaks(wall) ? wall : subject !== null && speaks(subject) ? subject : null;
  if (alone === null) return null;
  return enough({ ...rateOf(alone), witnesses: alone === wall ? 'wall' : 'subject' }, run, LEAST.alone);
}

const rateOf = ({ slope, standardError }: SlopeWithError): Pick<Drift, 'stopsPerFrame' | 'errorStopsPerFrame'> => ({
  stopsPerFrame: slope,
  errorStopsPerFrame: standardError,
});

function enough(drift: Drift, run: number, least: { stops: number; errors: number }): Drift | null {
  const size = Math.abs(drift.stopsPerFrame);
  return size * run >= least.stops && size >= least.errors * drift.errorStopsPerFrame ? drift : null;
}

/** Each sitter's light about their own median, the drift's slope left in: sitters' levels apart, the trend kept. */
function subjectAgainstOwn(frames: readonly SequenceFrame[], stopsPerFrame: number): Unknown[] {
  const flat = frames.map(({ subjectLightStops }, i) =>
    subjectLightStops === null ? null : subjectLightStops - stopsPerFrame * i,
  );
  const own = new Map<string, number | null>();
  const keyOf = ({ sitter, facts }: SequenceFrame): string => `${sitter}|${facts.basis}`;
  frames.forEach((frame) => {
    const key = keyOf(frame);
    if (!own.has(key))
      own.set(
        key,
        medianOf(flat, (value, i) => (keyOf(frames[i] as SequenceFrame) === key ? value : null)),
      );
  });
  return frames.map((frame, i) => {
    const [value, usual] = [flat[i] ?? null, own.get(keyOf(frame)) ?? null];
    return value === null || usual === null ? null : value - usual + stopsPerFrame * i;
  });
}
