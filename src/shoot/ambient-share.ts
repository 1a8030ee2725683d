import { robustSigma } from '../photometry/robust-statistics.js';
import type { FrameFacts } from './facts.js';
import { difference, medianKnown, neighbourSpread, spreadFromDifferences, type Unknown } from './known.js';

/** Continuous light beside the flash. */
export interface AmbientShare {
  /** Share of the subject's light that the shutter counts for, at `usualTv`. */
  share: number;
  errorShare: number;
  usualTv: number;
  /** Changes of shutter that it rests on. */
  changes: number;
}

/** A smaller change of shutter says nothing above the noise. Ours. */
const TELLING_SHUTTER_STOPS = 0.6;
/** After this long the light may have been moved as well. Ours. */
const ONE_GO_MS = 120_000;
/** Changes of shutter that are needed, and how well they must agree (robust spread of the share). Ours. */
const EVIDENCE = { changes: 2, spread: 0.25 } as const;
/** The same where nothing else says that there was a flash. */
const EVIDENCE_ALONE = { changes: 4, spread: 0.15 } as const;
/** Nearer than this to none or all, two standard errors included, it is plain flash or plain continuous light. Ours. */
const MIXED = { from: 0.12, to: 0.85 } as const;
/** Least scatter of a wall from frame to frame that is believed; as in signals.ts. Ours. */
const LEAST_WALL_NOISE_STOPS = 0.07;
/** What a change of shutter has to move the share's prediction by, none against all, to say anything. Ours. */
const LEAST_LEVER = 0.3;

/** The share that one change of shutter tells, with its standard error from the wall's scatter. */
interface ShareWord {
  share: number;
  error: number;
}

/**
 * Share of continuous light beside a flash, from what changes of shutter did to the wall. A flash F is over before the
 * shutter closes, ambient A adds up over the time t: level = log2(F + A t). With a the ambient's share at the usual
 * shutter, another time r times as long gives log2(1 - a + a r); so each change of shutter gives one a. Null where the
 * changes are few, do not agree, or tell plain flash or plain continuous light.
 *
 * @param flashKnown whether files or plan say that a flash was used
 */
export function ambientShareOf(tracks: readonly (readonly FrameFacts[])[], flashKnown: boolean): AmbientShare | null {
  const usualTv = usualShutter(tracks);
  if (usualTv === null) return null;
  const words = tracks.flatMap((track) => {
    const noiseStops = wallNoiseOf(track);
    return track.flatMap((now, i) => {
      const word = i === 0 ? null : wordFrom(track[i - 1] as FrameFacts, now, usualTv, noiseStops);
      return word === null ? [] : [word];
    });
  });
  const needed = flashKnown ? EVIDENCE : EVIDENCE_ALONE;
  const shares = words.map((word) => word.share);
  const share = medianKnown(shares);
  const spread = robustSigma(shares);
  if (words.length < needed.changes || share === null || spread === null || spread > needed.spread) return null;
  // Few values may agree by chance, so the wall's scatter counts as well. A median's standard error is sqrt(pi / 2) times
  // that of a mean.
  const one = Math.max(spread, medianKnown(words.map((word) => word.error)) ?? spread);
  const errorShare = (Math.sqrt(Math.PI / 2) * one) / Math.sqrt(words.length);
  if (share - 2 * errorShare < MIXED.from || share + 2 * errorShare > MIXED.to) return null;
  return { share, errorShare, usualTv, changes: words.length };
}

function usualShutter(tracks: readonly (readonly FrameFacts[])[]): Unknown {
  const counts = new Map<number, number>();
  for (const { tv } of tracks.flat()) if (tv !== null) counts.set(tv, (counts.get(tv) ?? 0) + 1);
  return [...counts].sort((a, b) => b[1] - a[1] || a[0] - b[0])[0]?.[0] ?? null;
}

const wallWithoutDials = ({ backgroundLevelStops, sv, av }: FrameFacts): Unknown =>
  difference(backgroundLevelStops, difference(sv, av));

/**
 * How much the wall's level, aperture and sensitivity taken out, scatters from frame to frame. Read between frames of one
 * shutter, each and the last before it: what another shutter does to the wall is what is asked for, and no scatter. Where
 * no two such pairs are there, between neighbours whatever their shutters: rather too much than too little.
 */
function wallNoiseOf(track: readonly FrameFacts[]): number {
  const lastByShutter = new Map<number, number>();
  const differences: number[] = [];
  for (const frame of track) {
    const wall = wallWithoutDials(frame);
    if (wall === null || frame.tv === null) continue;
    const last = lastByShutter.get(frame.tv);
    if (last !== undefined) differences.push(wall - last);
    lastByShutter.set(frame.tv, wall);
  }
  const spread = spreadFromDifferences(differences) ?? neighbourSpread(track.map(wallWithoutDials)) ?? 0;
  return Math.max(LEAST_WALL_NOISE_STOPS, spread);
}

/** Who turns another dial as well may have another light before the camera. Ours. */
const SAME_DIAL_STOPS = 0.1;
const sameDial = (a: Unknown, b: Unknown): boolean => Math.abs(difference(a, b) ?? Infinity) <= SAME_DIAL_STOPS;

/** The ambient's share at the usual shutter that one change of shutter tells. */
function wordFrom(before: FrameFacts, now: FrameFacts, usualTv: number, noiseStops: number): ShareWord | null {
  if (before.autoExposure || now.autoExposure || before.tv === null || now.tv === null) return null;
  if (Math.abs(now.tv - before.tv) < TELLING_SHUTTER_STOPS) return null;
  const since = difference(now.epochMs, before.epochMs);
  if (since !== null && since > ONE_GO_MS) return null;
  if (!sameDial(now.sv, before.sv) || !sameDial(now.av, before.av)) return null;
  const change = difference(now.backgroundLevelStops, before.backgroundLevelStops);
  if (change === null) return null;
  // a of 2^change = (1 - a + a r2) / (1 - a + a r1), r1 and r2 the times as long as usual before and now.
  const grew = 2 ** change;
  const [r1, r2] = [2 ** (usualTv - before.tv), 2 ** (usualTv - now.tv)];
  const lever = r2 - 1 - grew * (r1 - 1);
  if (Math.abs(lever) < LEAST_LEVER) return null;
  const share = (grew - 1) / lever;
  // The change's own error, sqrt(2) times the noise, through da / dchange.
  const slope = (Math.LN2 * grew * Math.abs(r2 - r1)) / lever ** 2;
  return { share, error: Math.SQRT2 * noiseStops * slope };
}

/**
 * What a shutter does to the level, in stops: nothing under flash, all of it under continuous light, and
 * log2(1 - a + a r) between, r against the usual shutter.
 */
export function shutterStops(tv: number, shutterWeight: number, usualTv: number): number {
  if (shutterWeight === 0) return 0;
  if (shutterWeight === 1) return -tv;
  return Math.log2(1 - shutterWeight + shutterWeight * 2 ** (usualTv - tv));
}
