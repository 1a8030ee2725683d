import type { Flag, Severity } from '../../contracts/report.js';
import type { FrameContext } from '../setup-state.js';
import { severityOf } from '../severity.js';
import { brighterOrDarker, settingsText, shutterText, signedStops, stepsThat, stopsText } from '../wording.js';

/** Settings that move the level by less are the same settings: half of the smallest step of a dial. */
export const SETTINGS_STOPS = 1 / 6;
/** Settings are known exactly, but for the last digits of a third of a stop: one third is at a tolerance of one third. */
const ROUNDING_STOPS = 0.01;

export function settingsSeverity(settingsStops: number, toleranceStops: number): Severity | null {
  return severityOf(settingsStops, toleranceStops, 0, ROUNDING_STOPS, 'exact');
}

/** A setting was knocked: which, what it does alone, and what undoes it. */
export function settingsFlag(context: FrameContext, severity: Severity): Flag {
  const { settingsStops } = context.light;
  return {
    code: 'settings-changed',
    severity,
    stops: settingsStops,
    because: `${whatChanged(context)}, which alone makes it ${stopsText(settingsStops)} ${brighterOrDarker(settingsStops)}; ${stepsThat('undo', -settingsStops)}.${automationText(context)}`,
  };
}

/** The camera moved it, not a hand. */
function automationText({ setup, frame }: FrameContext): string {
  if (setup.automation === null || !frame.automatic) return '';
  return ` The camera chose it (${setup.automation.program ?? 'automatic ISO'}) under steady light: set exposure by hand or lock it.`;
}

/** A setting was moved by so little that it does not matter. */
export function settingsNote(context: FrameContext): Flag {
  const { settingsStops: stops } = context.light;
  return {
    code: 'settings-changed',
    severity: 'note',
    stops,
    because: `${whatChanged(context)}: ${signedStops(stops)} stop, within tolerance.`,
  };
}

/** A setting and the light moved, and cancel. */
export function compensated(context: FrameContext, lightStops: number): Flag {
  const { settingsStops } = context.light;
  return {
    code: 'settings-changed',
    severity: 'note',
    stops: settingsStops,
    because: `${whatChanged(context)} (${signedStops(settingsStops)} stop) and the light changed by ${signedStops(lightStops)} stop to match: nothing to do.`,
  };
}

/** Which settings differ from the set-up's usual ones, in the camera's words. */
function whatChanged({ frame, setup, lightKind }: FrameContext): string {
  const { av, sv, tv, measurement } = frame.facts;
  const usual = setup.arrangement;
  const { fNumber, exposureTimeSeconds, iso } = measurement.exposure;
  const parts: string[] = [];
  const moved = (a: number | null, b: number | null): boolean =>
    a !== null && b !== null && Math.abs(a - b) >= SETTINGS_STOPS;
  if (moved(av, usual.av)) parts.push(`aperture is f/${fNumber ?? '?'}`);
  if (moved(tv, usual.tv) && lightKind.shutterWeight > 0)
    parts.push(`shutter is ${exposureTimeSeconds === null ? '?' : shutterText(exposureTimeSeconds)}`);
  if (moved(sv, usual.sv)) parts.push(`ISO is ${iso ?? '?'}`);
  if (parts.length === 0) return `Settings differ (${settingsText(fNumber, exposureTimeSeconds, iso)})`;
  return `${parts.join(' and ')}, unlike the rest of ${setup.id}`.replace(/^./, (first) => first.toUpperCase());
}
