import type { ShootPlan } from '../contracts/plan.js';
import { SHUTTER_WEIGHT_CONTINUOUS, SHUTTER_WEIGHT_FLASH } from '../photometry/predicted-change.js';
import type { FrameFacts } from './facts.js';
import { medianKnown } from './known.js';

export interface LightKindDecision {
  kind: 'flash' | 'continuous';
  shutterWeight: number;
  because: string;
}

const FLASH = { kind: 'flash', shutterWeight: SHUTTER_WEIGHT_FLASH } as const;
const CONTINUOUS = { kind: 'continuous', shutterWeight: SHUTTER_WEIGHT_CONTINUOUS } as const;

/** A change of shutter under this many stops says nothing above the noise. Ours. */
const TELLING_SHUTTER_STOPS = 0.6;
/** Medians nearer than this do not decide between the two kinds. Ours. */
const DECISIVE_STOPS = 0.2;
/** A single frame this far under both neighbours, settings the same, is a flash that did not fire. Ours. */
const FLASH_SILENT_STOPS = 2;

/**
 * Which light the shoot was made under, so whether the shutter counts: the plan's word; else how levels
 * followed the shutter where it changed; else the files' flash bits; else single frames gone dark, which
 * only flash does; else continuous, which is told as an assumption.
 */
export function decideLightKind(tracks: readonly (readonly FrameFacts[])[], plan: ShootPlan): LightKindDecision {
  if (plan.light === 'flash') return { ...FLASH, because: 'The plan says flash, so the shutter does not count.' };
  if (plan.light === 'continuous')
    return { ...CONTINUOUS, because: 'The plan says continuous light, so the shutter counts in full.' };
  return fromShutterChanges(tracks) ?? fromFlashBits(tracks) ?? fromSilentFrames(tracks) ?? assumed();
}

function fromShutterChanges(tracks: readonly (readonly FrameFacts[])[]): LightKindDecision | null {
  const missIfFlash: number[] = [];
  const missIfContinuous: number[] = [];
  for (const track of tracks) {
    for (let i = 1; i < track.length; i++) {
      const before = track[i - 1] as FrameFacts;
      const now = track[i] as FrameFacts;
      if (before.tv === null || now.tv === null || Math.abs(now.tv - before.tv) < TELLING_SHUTTER_STOPS) continue;
      const change = wallChange(before, now);
      if (change === null || before.av === null || now.av === null || before.sv === null || now.sv === null) continue;
      const leftOver = change - (now.sv - before.sv) + (now.av - before.av);
      missIfFlash.push(Math.abs(leftOver));
      missIfContinuous.push(Math.abs(leftOver + (now.tv - before.tv)));
    }
  }
  const flash = medianKnown(missIfFlash);
  const continuous = medianKnown(missIfContinuous);
  if (flash === null || continuous === null || Math.abs(flash - continuous) < DECISIVE_STOPS) return null;
  const times = missIfFlash.length === 1 ? 'once' : `${missIfFlash.length} times`;
  const told = `The shutter changed ${times}: levels miss what flash predicts by ${flash.toFixed(2)} stop and what continuous light predicts by ${continuous.toFixed(2)} stop (medians)`;
  return flash < continuous
    ? { ...FLASH, because: `${told}, so it is flash.` }
    : { ...CONTINUOUS, because: `${told}, so it is continuous.` };
}

/** The wall behind, which no sitter's skin changes; whole frame where neither frame shows people. */
function wallChange(before: FrameFacts, now: FrameFacts): number | null {
  if (before.backgroundLevelStops !== null && now.backgroundLevelStops !== null)
    return now.backgroundLevelStops - before.backgroundLevelStops;
  if (before.basis === 'frame' && now.basis === 'frame' && before.levels.frame !== null && now.levels.frame !== null)
    return now.levels.frame - before.levels.frame;
  return null;
}

function fromFlashBits(tracks: readonly (readonly FrameFacts[])[]): LightKindDecision | null {
  const bits = tracks.flat().map((frame) => frame.flashFired);
  const fired = bits.filter((bit) => bit === true).length;
  const told = bits.filter((bit) => bit !== null).length;
  if (told === 0 || fired / told < 0.5) return null;
  return { ...FLASH, because: `The files say that the flash fired in ${fired} of ${told} frames.` };
}

function fromSilentFrames(tracks: readonly (readonly FrameFacts[])[]): LightKindDecision | null {
  let silent = 0;
  for (const track of tracks) {
    for (let i = 1; i + 1 < track.length; i++) {
      const [before, now, after] = [track[i - 1] as FrameFacts, track[i] as FrameFacts, track[i + 1] as FrameFacts];
      if (!sameSettings(before, now) || !sameSettings(now, after)) continue;
      const fall = wallChange(before, now);
      const rise = wallChange(now, after);
      if (fall !== null && rise !== null && fall < -FLASH_SILENT_STOPS && rise > FLASH_SILENT_STOPS) silent++;
    }
  }
  if (silent === 0) return null;
  const frames = silent === 1 ? '1 frame stands' : `${silent} frames stand`;
  return {
    ...FLASH,
    because: `${frames} more than ${FLASH_SILENT_STOPS} stops under both neighbours with the same settings, as when a flash does not fire.`,
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
