import {
  TELLING,
  castChanged,
  lightChangeStops,
  lightChanged,
  settingsChanged,
  sideToSideChanged,
  type ArrangementChange,
} from './arrangement-change.js';

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

/** The light changed by at least this and the camera was touched: the settings were set for the new light. Ours. */
const TOUCHED_STOPS = 0.25;
/** Focal lengths that far apart (log2) are another picture. Ours. */
const OTHER_FOCAL_LOG2 = 0.7;
/** Where it may be meant, only more than this many tolerances is worth a word. Ours. */
const DOUBTFUL_SHARE = 1.6;
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
  const sureNow = !afterPause && change.sittersShared && !change.sittersRecognised;
  // Who touches the camera in a pause, or for a new sitter, sets it.
  if (meteredAnew(change, lightStops, afterPause) || (change.cameraTouched && !sureNow)) return null;
  if (onlyTheSubject(change)) return before;
  const now = {
    fromSetupPlace: before?.fromSetupPlace ?? beforePlace,
    settingsStops: (before?.settingsStops ?? 0) + settingsStops,
    lightStops: (before?.lightStops ?? 0) + lightStops,
    sure: (before?.sure ?? true) && sureNow,
  };
  const within = now.sure || before !== null ? BACK_SHARE : DOUBTFUL_SHARE;
  return Math.abs(now.settingsStops + now.lightStops) <= toleranceStops * within ? null : now;
}

function meteredAnew(change: ArrangementChange, lightStops: number, afterPause: boolean): boolean {
  if (change.cameraTouched && Math.abs(lightStops) >= TOUCHED_STOPS) return true;
  const otherPicture = Math.abs(change.focalLog2 ?? 0) >= OTHER_FOCAL_LOG2;
  const respects = [castChanged(change), sideToSideChanged(change), otherPicture].filter(Boolean).length;
  // Who moves or filters the light and touches the camera sets it for that light.
  if (change.sittersShared) return respects >= (change.cameraTouched ? 1 : 2);
  // Nobody is in both, so only the wall tells: it counts when nothing else changed and nobody had time to meter.
  return afterPause || respects >= 1;
}

/** The wall is steady and the subject is not: other light on the subject, or a sitter who only looks alike. Skin is never a fault. */
function onlyTheSubject(change: ArrangementChange): boolean {
  const { wallLightStops, subjectLightStops } = change;
  if (wallLightStops === null || subjectLightStops === null || sideToSideChanged(change)) return false;
  return (
    Math.abs(wallLightStops) < TELLING.agreedLightStops &&
    Math.abs(subjectLightStops - wallLightStops) > TELLING.agreementStops
  );
}
