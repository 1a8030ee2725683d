import type { ExposureAutomation } from '../contracts/report.js';
import type { FrameLight } from './deviation.js';
import { known, medianKnown, rounded, spreadKnown } from './known.js';
import type { SequenceFrame } from './sequence.js';
import { signedStops, stopsText } from './wording.js';

/** Fewer frames tell no habit of the camera. Ours. */
const LEAST_FRAMES = 6;
/** Exposure wanders when it has this robust spread and this range, in stops, over so many different values. Ours. */
const WANDERS = { spreadStops: 0.1, rangeStops: 0.32, values: 3, changesShare: 0.25 } as const;
/** Light that scatters by less than this, or by less than this share of the exposure, is steady. Ours. */
const STEADY = { stops: 0.12, shareOfExposure: 0.6 } as const;
/** The level has to follow the settings at least so far: else they followed the light, and rightly. Ours. */
const LEAST_FOLLOWING = 0.5;

/**
 * Exposure that the camera set anew from frame to frame (a program, or an automatic ISO) though the light stood: told for
 * a set-up as a whole, with its spread, since each frame alone looks like a knocked dial. Null where exposure was held, or
 * where it followed light that moved.
 */
export function automationOf(
  frames: readonly SequenceFrame[],
  lights: readonly FrameLight[],
): ExposureAutomation | null {
  const automatic = frames.filter((frame) => frame.automatic).length;
  if (frames.length < LEAST_FRAMES || automatic <= frames.length / 2) return null;
  const settings = frames.map((frame) => frame.settingsStops);
  const changes = settings.filter((value, i) => i > 0 && Math.abs(value - (settings[i - 1] as number)) > 0.1).length;
  const spread = spreadKnown(settings) ?? 0;
  const range = Math.max(...settings) - Math.min(...settings);
  const values = new Set(settings.map((value) => Math.round(value * 6))).size;
  if (
    range < WANDERS.rangeStops ||
    spread < WANDERS.spreadStops ||
    values < WANDERS.values ||
    changes < WANDERS.changesShare * (frames.length - 1)
  )
    return null;
  const light = spreadKnown(lights.map((word) => word.lightStops));
  const level = spreadKnown(lights.map((word) => word.levelStops));
  if (light === null || level === null) return null;
  if (light > Math.max(STEADY.stops, STEADY.shareOfExposure * spread) || level < LEAST_FOLLOWING * spread) return null;
  const moved = movedSettings(frames);
  const program = usualProgram(frames);
  const ends = `${signedStops(Math.min(...settings) - (medianKnown(settings) ?? 0))} to ${signedStops(Math.max(...settings) - (medianKnown(settings) ?? 0))}`;
  return {
    frames: automatic,
    settings: moved,
    program,
    spreadStops: rounded(spread) ?? 0,
    rangeStops: rounded(range) ?? 0,
    lightSpreadStops: rounded(light) ?? 0,
    because: `The camera set ${listed(moved)} anew from frame to frame (${program ?? 'automatic exposure'}) though the light stood: exposure wandered by ${ends} stops (spread ${stopsText(spread)}, the light's ${light.toFixed(2)}). Set exposure by hand, or lock it after metering.`,
  };
}

function movedSettings(frames: readonly SequenceFrame[]): ExposureAutomation['settings'] {
  const spans = (values: readonly (number | null)[]): boolean => {
    const told = known(values);
    return told.length > 1 && Math.max(...told) - Math.min(...told) > 0.1;
  };
  const moved: ExposureAutomation['settings'] = [];
  if (spans(frames.map((frame) => frame.facts.av))) moved.push('aperture');
  if (spans(frames.map((frame) => frame.facts.tv))) moved.push('shutter');
  if (spans(frames.map((frame) => frame.facts.sv))) moved.push('ISO');
  return moved;
}

function listed(settings: readonly string[]): string {
  if (settings.length === 0) return 'exposure';
  return settings.length === 1 ? `the ${settings[0]}` : `${settings.slice(0, -1).join(', ')} and ${settings.at(-1)}`;
}

/** The exposure program that most of the automatic frames name; null where none does (an automatic ISO under manual exposure). */
function usualProgram(frames: readonly SequenceFrame[]): string | null {
  const counts = new Map<string, number>();
  for (const { facts } of frames) {
    const { exposureProgram, exposureMode } = facts.measurement.exposure;
    const name = facts.autoExposure ? (exposureProgram ?? exposureMode) : null;
    if (name !== null) counts.set(name, (counts.get(name) ?? 0) + 1);
  }
  const most = [...counts].sort((a, b) => b[1] - a[1] || (a[0] < b[0] ? -1 : 1))[0];
  return most === undefined ? null : most[0].toLowerCase();
}
