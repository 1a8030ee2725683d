import { robustSigma } from '../photometry/robust-statistics.js';
import type { FrameFacts } from './facts.js';
import { difference, medianKnown, type Unknown } from './known.js';

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
const EVIDENCE = { changes: 4, spread: 0.25 } as const;
/** The same where nothing else says that there was a flash. */
const EVIDENCE_ALONE = { changes: 6, spread: 0.15 } as const;
/** Nearer than this to none or all, two standard errors included, it is plain flash or plain continuous light. Ours. */
const MIXED = { from: 0.12, to: 0.85 } as const;

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
  const shares = tracks.flatMap((track) =>
    track.flatMap((now, i) => {
      const share = i === 0 ? null : shareFrom(track[i - 1] as FrameFacts, now, usualTv);
      return share === null ? [] : [share];
    }),
  );
  const needed = flashKnown ? EVIDENCE : EVIDENCE_ALONE;
  const share = medianKnown(shares);
  const spread = robustSigma(shares);
  if (shares.length < needed.changes || share === null || spread === null || spread > needed.spread) return null;
  // A median's standard error, sqrt(pi / 2) times that of a mean.
  const errorShare = (Math.sqrt(Math.PI / 2) * spread) / Math.sqrt(shares.length);
  if (share - 2 * errorShare < MIXED.from || share + 2 * errorShare > MIXED.to) return null;
  return { share, errorShare, usualTv, changes: shares.length };
}

function usualShutter(tracks: readonly (readonly FrameFacts[])[]): Unknown {
  const counts = new Map<number, number>();
  for (const { tv } of tracks.flat()) if (tv !== null) counts.set(tv, (counts.get(tv) ?? 0) + 1);
  return [...counts].sort((a, b) => b[1] - a[1] || a[0] - b[0])[0]?.[0] ?? null;
}

/** The ambient's share at the usual shutter that one change of shutter tells. */
function shareFrom(before: FrameFacts, now: FrameFacts, usualTv: number): Unknown {
  if (before.autoExposure || now.autoExposure) return null;
  const step = difference(now.tv, before.tv);
  if (step === null || Math.abs(step) < TELLING_SHUTTER_STOPS) return null;
  const since = difference(now.epochMs, before.epochMs);
  if (since !== null && since > ONE_GO_MS) return null;
  const wall = difference(now.backgroundLevelStops, before.backgroundLevelStops);
  const speed = difference(now.sv, before.sv);
  const aperture = difference(now.av, before.av);
  if (wall === null || speed === null || aperture === null) return null;
  const change = wall - speed + aperture;
  const atUsual = (frame: FrameFacts): boolean => Math.abs((frame.tv ?? Infinity) - usualTv) < 0.1;
  // From the usual shutter to another, or back: read both ways from the usual one.
  if (atUsual(before)) return shareOf(change, -step);
  return atUsual(now) ? shareOf(-change, step) : null;
}

/** a of change = log2(1 - a + a r), r the times as long, `longer` its log2. */
const shareOf = (change: number, longer: number): number => (2 ** change - 1) / (2 ** longer - 1);

/**
 * What a shutter does to the level, in stops: nothing under flash, all of it under continuous light, and
 * log2(1 - a + a r) between, r against the usual shutter.
 */
export function shutterStops(tv: number, shutterWeight: number, usualTv: number): number {
  if (shutterWeight === 0) return 0;
  if (shutterWeight === 1) return -tv;
  return Math.log2(1 - shutterWeight + shutterWeight * 2 ** (usualTv - tv));
}
