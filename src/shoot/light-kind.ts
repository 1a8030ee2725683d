import type { ShootPlan } from '../contracts/plan.js';
import {
  SHUTTER_WEIGHT_CONTINUOUS,
  SHUTTER_WEIGHT_FLASH,
  predictedChangeStops,
} from '../photometry/predicted-change.js';
import { ambientShareOf } from './ambient-share.js';
import type { FrameFacts } from './facts.js';
import { difference, medianKnown } from './known.js';
import { shutterText } from './wording.js';

export interface LightKindDecision {
  kind: 'flash' | 'continuous';
  /** 0 flash, 1 continuous, between: the share of continuous light beside a flash, at the shutter of `usualTv`. */
  shutterWeight: number;
  usualTv: number;
  because: string;
}

const FLASH = { kind: 'flash', shutterWeight: SHUTTER_WEIGHT_FLASH, usualTv: 0 } as const;
const CONTINUOUS = { kind: 'continuous', shutterWeight: SHUTTER_WEIGHT_CONTINUOUS, usualTv: 0 } as const;

/** A change of shutter under this many stops says nothing above the noise. Ours. */
const TELLING_SHUTTER_STOPS = 0.6;
/** A change speaks when one kind predicts it this well and the other misses it by that much more. Ours. */
const SPEAKS = { fitsWithinStops: 0.25, otherMissesByStops: 0.4 } as const;
/** A dip of this many stops sooner than this share of the usual interval is a flash not recharged. Ours. */
const SHORT = { stops: 0.4, ofUsualInterval: 0.5 } as const;
/** After this long the light may have been moved as well. Ours. */
const ONE_GO_MS = 120_000;
/** A single frame this far under both neighbours, settings the same, is a flash that did not fire. Ours. */
const FLASH_SILENT_STOPS = 2;

/**
 * Which light the shoot was made under, so whether the shutter counts: the plan's word; else the files'
 * flash bits; else how levels followed the shutter where it changed; else single frames gone dark, which
 * only flash does; else continuous, which is told as an assumption. Levels that followed the shutter in part tell flash
 * with continuous light beside it.
 */
export function decideLightKind(tracks: readonly (readonly FrameFacts[])[], plan: ShootPlan): LightKindDecision {
  if (plan.light === 'continuous')
    return { ...CONTINUOUS, because: 'The plan says continuous light, so the shutter counts in full.' };
  if (plan.light === 'flash') {
    const told = 'The plan says flash';
    return mixed(tracks, told) ?? { ...FLASH, because: `${told}, so the shutter does not count.` };
  }
  const byBits = fromFlashBits(tracks);
  if (byBits !== null) return mixed(tracks, byBits.because.replace(/\.$/, '')) ?? byBits;
  return mixed(tracks, null) ?? fromShutterChanges(tracks) ?? fromSilentFrames(tracks) ?? assumed();
}

/** Flash with ambient beside it, where changes of shutter tell its share; the shutter then counts in part. */
function mixed(tracks: readonly (readonly FrameFacts[])[], flashSaidBy: string | null): LightKindDecision | null {
  const ambient = ambientShareOf(tracks, flashSaidBy !== null);
  if (ambient === null) return null;
  const percentOf = (share: number): string => `${(100 * share).toFixed(0)} %`;
  const seconds = shutterText(2 ** -ambient.usualTv);
  const said = flashSaidBy === null ? 'Nothing in the files tells of a flash' : flashSaidBy;
  return {
    kind: 'flash',
    shutterWeight: ambient.share,
    usualTv: ambient.usualTv,
    because: `${said}; where the shutter changed (${ambient.changes} times) the level followed it in part: ${percentOf(ambient.share)} of the light at ${seconds} is continuous, beside the flash (uncertain by ${percentOf(ambient.errorShare)}), so the shutter counts for that share.`,
  };
}

function fromShutterChanges(tracks: readonly (readonly FrameFacts[])[]): LightKindDecision | null {
  let forFlash = 0;
  let forContinuous = 0;
  for (const track of tracks)
    for (let i = 1; i < track.length; i++) {
      const misses = missesOf(track[i - 1] as FrameFacts, track[i] as FrameFacts);
      if (misses === null) continue;
      const { ifFlash, ifContinuous } = misses;
      if (ifFlash <= SPEAKS.fitsWithinStops && ifContinuous >= SPEAKS.otherMissesByStops) forFlash++;
      if (ifContinuous <= SPEAKS.fitsWithinStops && ifFlash >= SPEAKS.otherMissesByStops) forContinuous++;
    }
  if (forFlash === forContinuous) return null;
  const told = `Where the shutter changed, the level did as flash predicts ${forFlash} times and as continuous light predicts ${forContinuous} times`;
  return forFlash > forContinuous
    ? { ...FLASH, because: `${told}, so it is flash.` }
    : { ...CONTINUOUS, because: `${told}, so it is continuous.` };
}

/** By how much each kind of light misses the change of level between two neighbours whose shutters differ. */
function missesOf(before: FrameFacts, now: FrameFacts): { ifFlash: number; ifContinuous: number } | null {
  if (before.tv === null || now.tv === null || Math.abs(now.tv - before.tv) < TELLING_SHUTTER_STOPS) return null;
  if (before.epochMs !== null && now.epochMs !== null && now.epochMs - before.epochMs > ONE_GO_MS) return null;
  const change = wallChange(before, now);
  const flash = predictedChangeStops(before, now, SHUTTER_WEIGHT_FLASH);
  const continuous = predictedChangeStops(before, now, SHUTTER_WEIGHT_CONTINUOUS);
  if (change === null || flash === null || continuous === null) return null;
  return { ifFlash: Math.abs(change - flash), ifContinuous: Math.abs(change - continuous) };
}

/** The wall behind, which no sitter's skin changes; whole frame where neither frame shows people. */
function wallChange(before: FrameFacts, now: FrameFacts): number | null {
  if (before.backgroundLevelStops !== null && now.backgroundLevelStops !== null)
    return now.backgroundLevelStops - before.backgroundLevelStops;
  if (before.basis === 'frame' && now.basis === 'frame' && before.levels.frame !== null && now.levels.frame !== null)
    return now.levels.frame - before.levels.frame;
  return null;
}

/** How far the wall fell, or fell at least where it came out too dark to read; null where it cannot be said. */
function fallOfWall(from: FrameFacts, to: FrameFacts): number | null {
  const change = wallChange(from, to);
  if (change !== null) return -change;
  // In the dark nobody is found either.
  if (to.basis === 'frame') return difference(from.levels.frame, to.levels.frame);
  return difference(from.backgroundLevelStops, to.darkBackgroundAtMostStops);
}

function fromFlashBits(tracks: readonly (readonly FrameFacts[])[]): LightKindDecision | null {
  const bits = tracks.flat().map((frame) => frame.flashFired);
  const fired = bits.filter((bit) => bit === true).length;
  const told = bits.filter((bit) => bit !== null).length;
  if (told === 0 || fired / told < 0.5) return null;
  return { ...FLASH, because: `The files say that the flash fired in ${fired} of ${told} frames.` };
}

/** Single frames that only flash makes: gone dark, or short right after the frame before. */
function fromSilentFrames(tracks: readonly (readonly FrameFacts[])[]): LightKindDecision | null {
  let silent = 0;
  let short = 0;
  for (const track of tracks) {
    const usualMs = medianKnown(track.slice(1).map((frame, i) => difference(frame.epochMs, track[i]?.epochMs ?? null)));
    for (let i = 1; i + 1 < track.length; i++) {
      const [before, now, after] = [track[i - 1] as FrameFacts, track[i] as FrameFacts, track[i + 1] as FrameFacts];
      if (!sameSettings(before, now) || !sameSettings(now, after)) continue;
      const fall = fallOfWall(before, now);
      const rise = fallOfWall(after, now);
      if (fall === null || rise === null) continue;
      const dip = Math.min(fall, rise);
      if (dip > FLASH_SILENT_STOPS) silent++;
      const since = difference(now.epochMs, before.epochMs);
      if (dip > SHORT.stops && since !== null && usualMs !== null && since < SHORT.ofUsualInterval * usualMs) short++;
    }
  }
  if (silent + short === 0) return null;
  const told = [
    ...(silent > 0 ? [`${silent} fell by more than ${FLASH_SILENT_STOPS} stops`] : []),
    ...(short > 0 ? [`${short} by less, right after the frame before`] : []),
  ].join(' and ');
  return {
    ...FLASH,
    because: `Single frames between like ones went dark with the same settings (${told}), as only flash does.`,
  };
}

function sameSettings(a: FrameFacts, b: FrameFacts): boolean {
  return a.av !== null && a.av === b.av && a.sv === b.sv && a.tv === b.tv;
}

function assumed(): LightKindDecision {
  return {
    ...CONTINUOUS,
    because:
      'Nothing in the files tells flash from continuous light, so continuous is assumed; it matters only where the shutter changed.',
  };
}
