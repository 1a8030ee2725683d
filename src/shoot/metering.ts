import {
  castChanged,
  lightChangeStops,
  lightChanged,
  settingsChanged,
  sideToSideChanged,
  type ArrangementChange,
} from './arrangement.js';

/**
 * How far a set-up stands from the level that was last metered for, when it is that set-up with something
 * changed under the photographer's hands: the light moved or turned and nobody metered again, or a setting
 * knocked and left so. `sure` is false where a pause lies between, in which it may have been metered.
 */
export interface Departure {
  fromSetupPlace: number;
  settingsStops: number;
  lightStops: number;
  sure: boolean;
}

/** Both changed by at least this: the settings were set for the new light. Ours. */
const TOUCHED_STOPS = 0.25;
/** Focal lengths that far apart (log2) are another picture. Ours. */
const OTHER_FOCAL_LOG2 = 0.7;
/** Different sitters by skin alone; only a change on which their medians agree within this with the wall counts. Ours. */
const SKIN_STOPS = 0.7;
/** Back within this share of the tolerance is back. Ours. */
const BACK_SHARE = 0.85;

/**
 * @param before the departure of the set-up before, null when that one was metered for
 * @param beforePlace place of the set-up before among the track's set-ups
 * @returns null when the set-up was metered anew, or is back on the level metered for
 */
export function departureOf(
  change: ArrangementChange,
  before: Departure | null,
  beforePlace: number,
  afterPause: boolean,
  toleranceStops: number,
): Departure | null {
  const lightStops = lightChanged(change) ? lightChangeStops(change) : 0;
  const settingsStops = settingsChanged(change) ? change.settingsStops : 0;
  if (meteredAnew(change, settingsStops, lightStops, afterPause)) return null;
  const now = {
    fromSetupPlace: before?.fromSetupPlace ?? beforePlace,
    settingsStops: (before?.settingsStops ?? 0) + settingsStops,
    lightStops: (before?.lightStops ?? 0) + lightStops,
    sure: (before?.sure ?? true) && !afterPause,
  };
  return Math.abs(now.settingsStops + now.lightStops) <= toleranceStops * BACK_SHARE ? null : now;
}

function meteredAnew(
  change: ArrangementChange,
  settingsStops: number,
  lightStops: number,
  afterPause: boolean,
): boolean {
  if (Math.abs(settingsStops) >= TOUCHED_STOPS && Math.abs(lightStops) >= TOUCHED_STOPS) return true;
  const otherPicture = Math.abs(change.focalLog2 ?? 0) >= OTHER_FOCAL_LOG2;
  if (!change.sittersShared && !subjectsFollow(change, afterPause)) return true;
  const respects = [castChanged(change), sideToSideChanged(change), otherPicture].filter(Boolean).length;
  return respects >= (change.sittersShared ? 2 : 1);
}

/** Nobody is in both: the wall alone does not tell what the subject gets, unless all subjects went with it. */
function subjectsFollow({ wallLightStops, allSubjectsStops }: ArrangementChange, afterPause: boolean): boolean {
  if (afterPause || wallLightStops === null || allSubjectsStops === null) return false;
  return Math.abs(wallLightStops - allSubjectsStops) <= SKIN_STOPS;
}
