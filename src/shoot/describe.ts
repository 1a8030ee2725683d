import type { SetupBaseline, SetupChange } from '../contracts/report.js';
import {
  castChanged,
  fallOffChanged,
  lightChangeStops,
  lightChanged,
  settingsChanged,
  sideToSideChanged,
} from './arrangement-change.js';
import type { LightKindDecision } from './light-kind.js';
import { rounded } from './known.js';
import type { SetupState } from './setup-state.js';
import { thirdStopSteps } from '../photometry/stops.js';
import { settingsText, signedMired, signedStops, stopsText, thirdSteps } from './wording.js';

/** One line in trade words. The ratio is highlight side to shadow side as the picture shows it (key plus fill to fill). */
export function describeSetup(setup: SetupState, baseline: SetupBaseline, light: LightKindDecision): string {
  const parts: string[] = [];
  if (baseline.subjectLevelStops !== null)
    parts.push(`subject ${signedStops(baseline.subjectLevelStops)} stop to mid-grey`);
  if (baseline.sideToSideStops !== null)
    parts.push(
      `side to side ${baseline.sideToSideStops.toFixed(1)} stops (${(2 ** baseline.sideToSideStops).toFixed(1)}:1 highlight to shadow)`,
    );
  if (baseline.personToBackgroundStops !== null) {
    const under = baseline.personToBackgroundStops;
    parts.push(`background ${stopsText(under)} ${under >= 0 ? 'under' : 'over'} the subject`);
  }
  if (baseline.castMired !== null) parts.push(`cast ${castText(baseline.castMired)}`);
  parts.push(`${light.kind}, ${settingsText(baseline.fNumber, baseline.exposureTimeSeconds, baseline.iso)}`);
  const again = setup.againId === null ? '' : ` (as ${setup.againId} again)`;
  const line = parts.join('; ');
  return `${line.charAt(0).toUpperCase()}${line.slice(1)}${again}`;
}

function castText(mired: number): string {
  const size = Math.abs(mired).toFixed(0);
  return size === '0' ? 'neutral' : `${size} mired ${mired < 0 ? 'cool' : 'warm'} of daylight`;
}

/** What differs from the set-up before, and what restores it. */
export function describeChange(setup: SetupState): SetupChange | null {
  const { change, previousId } = setup;
  if (change === null || previousId === null) return null;
  const known = change.wallLightStops !== null || change.subjectLightStops !== null;
  const lightStops = known ? lightChangeStops(change) : null;
  const levelStops = lightStops === null ? null : lightStops + change.settingsStops;
  const lightMoved = lightChanged(change);
  return {
    fromSetup: previousId,
    levelStops: rounded(levelStops),
    settingsStops: rounded(change.settingsStops),
    lightStops: rounded(lightStops),
    lightThirdStopSteps: lightStops === null ? null : thirdStopSteps(-lightStops) + 0,
    sideToSideStops: rounded(change.sideToSideStops),
    personToBackgroundStops: rounded(
      change.wallLightStops === null || change.subjectLightStops === null
        ? null
        : change.subjectLightStops - change.wallLightStops,
    ),
    castMired: rounded(change.mired, 2),
    fallOffStops: rounded(change.fallOff().stops),
    because: changeText(setup, lightStops, levelStops, lightMoved),
  };
}

/** A level nearer than half a third-stop click cannot be set any nearer. */
const HALF_A_CLICK_STOPS = 1 / 6;

function changeText(
  setup: SetupState,
  lightStops: number | null,
  levelStops: number | null,
  lightMoved: boolean,
): string {
  const { change, departure, departedFromId, againId } = setup;
  if (change === null) return '';
  const parts: string[] = [];
  if (lightMoved && lightStops !== null) parts.push(`light ${signedStops(lightStops)} stop`);
  if (change.sidesSwapped) parts.push('light from the other side');
  if (sideToSideChanged(change)) parts.push(`side to side ${signedStops(change.sideToSideStops ?? 0)} stops`);
  const fall = change.fallOff().stops;
  if (fallOffChanged(change) && fall !== null)
    parts.push(`${stopsText(fall)} ${fall > 0 ? 'more' : 'less'} fall-off down the body`);
  if (settingsChanged(change)) parts.push(`settings ${signedStops(change.settingsStops)} stop`);
  if (castChanged(change)) parts.push(`cast ${signedMired(change.mired ?? 0)}`);
  if (parts.length === 0) parts.push('background or framing changed');
  const level = levelStops === null ? '' : `; level ${signedStops(levelStops)} stop in all`;
  const madeUp = settingsChanged(change) && levelStops !== null && Math.abs(levelStops) < HALF_A_CLICK_STOPS;
  const undo = lightMoved && lightStops !== null ? `; to restore the light, ${thirdSteps(-lightStops)}` : '';
  const restore = lightMoved && madeUp ? '; settings and light make up for each other, nothing to restore' : undo;
  const unmetered =
    departure === null
      ? ''
      : `; not metered again since ${departedFromId ?? ''}${departure.sure ? '' : ', unless in the pause'}`;
  const again = againId === null ? '' : `; back to ${againId}`;
  const text = `${parts.join(', ')}${level}${restore}${unmetered}${again}.`;
  return `${text.charAt(0).toUpperCase()}${text.slice(1)}`;
}
