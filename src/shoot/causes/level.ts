import type { Flag, FlagCode, Severity } from '../../contracts/report.js';
import type { FrameContext } from '../setup-state.js';
import { severityOf } from '../severity.js';
import { nearerText } from './nearer.js';
import { brighterOrDarker, settingsText, shutterText, signedStops, stopsText, thirdSteps } from '../wording.js';

/** Settings that move the level by less are the same settings: half of the smallest step of a dial. */
const SETTINGS_STOPS = 1 / 6;
/** A flash that reaches the ready light fires 0.5 to 0.9 stop short (reference measurements of five units); beyond this it did not fire. */
const MISSING_FROM_STOPS = 1.3;
/** A frame whose file says that the flash did not fire needs less to be called silent. Ours. */
const SILENT_BY_BITS_STOPS = 0.6;
/** A short charge comes no later than this many usual intervals after the frame before. Ours. */
const SHORT_WITHIN_INTERVALS = 1.5;

/** Level against the set-up: what the settings did, what the light did, or whether only the subject moved. */
export function levelFlags(context: FrameContext): Flag[] {
  const { light, plan, frame } = context;
  const tolerance = plan.toleranceStops;
  const u = frame.facts.uncertaintyPerStop;
  const { settingsStops: settings, lightStops, levelStops } = light;
  const settingsMoved = light.settingsKnown && Math.abs(settings) >= SETTINGS_STOPS;
  if (lightStops === null || levelStops === null) return settingsMoved ? settingsOnly(context) : [];
  const size = Math.max(Math.abs(levelStops), Math.abs(settings));
  // The tone response may misread a step of the settings by so much; that is not the light.
  const lightSteady = Math.abs(lightStops) <= Math.max(0.6 * tolerance, 2 * u * size + 2 * light.errorStops);
  const witnesses = light.witnesses === 'both' ? 'two' : 'one';
  const flags: Flag[] = [];

  if (settingsMoved && lightSteady) {
    const severity = settingsSeverity(settings, tolerance);
    if (severity === null) return [note(context, 'settings-changed', settings, 'within tolerance')];
    return [settingsFlag(context, severity), offBaseline(context, severity, levelStops)];
  }
  const widening = levelStops === 0 ? u : (u * size) / Math.abs(levelStops);
  const severity = severityOf(levelStops, tolerance, widening, light.errorStops, witnesses);
  if (severity === null) {
    if (settingsMoved) flags.push(compensated(context, lightStops));
    return flags;
  }
  if (settingsMoved) flags.push(settingsFlag(context, settingsSeverity(settings, tolerance) ?? 'note'));
  const lightSeverity = severityOf(lightStops, tolerance, u, light.errorStops, witnesses);
  if (lightSeverity !== null) flags.push(lightFlag(context, lightStops, lightSeverity));
  const subjectOnly = light.witnesses === 'disagree' && !settingsMoved;
  flags.push(offBaseline(context, subjectOnly ? 'check' : severity, levelStops));
  return flags;
}

/** Settings are known exactly, but for the last digits of a third of a stop: one third is at a tolerance of one third. */
const ROUNDING_STOPS = 0.01;

function settingsSeverity(settingsStops: number, toleranceStops: number): Severity | null {
  return severityOf(settingsStops, toleranceStops, 0, ROUNDING_STOPS);
}

/** No level to compare with: the settings alone tell. */
function settingsOnly(context: FrameContext): Flag[] {
  const { settingsStops } = context.light;
  if (settingsSeverity(settingsStops, context.plan.toleranceStops) === null) return [settingsFlag(context, 'note')];
  return [settingsFlag(context, 'check'), offBaseline(context, 'check', settingsStops)];
}

function settingsFlag(context: FrameContext, severity: Severity): Flag {
  const { settingsStops } = context.light;
  return {
    code: 'settings-changed',
    severity,
    stops: settingsStops,
    because: `${whatChanged(context)}, which alone makes it ${stopsText(settingsStops)} ${brighterOrDarker(settingsStops)}; ${thirdSteps(-settingsStops)} undo it.${automationText(context)}`,
  };
}

/** The camera moved it, not a hand. */
function automationText({ setup, frame }: FrameContext): string {
  if (setup.automation === null || !frame.automatic) return '';
  return ` The camera chose it (${setup.automation.program ?? 'automatic ISO'}) under steady light: set exposure by hand or lock it.`;
}

function note(context: FrameContext, code: FlagCode, stops: number, why: string): Flag {
  return { code, severity: 'note', stops, because: `${whatChanged(context)}: ${signedStops(stops)} stop, ${why}.` };
}

function compensated(context: FrameContext, lightStops: number): Flag {
  const { settingsStops } = context.light;
  return {
    code: 'settings-changed',
    severity: 'note',
    stops: settingsStops,
    because: `${whatChanged(context)} (${signedStops(settingsStops)} stop) and the light changed by ${signedStops(lightStops)} stop to match: nothing to do.`,
  };
}

function offBaseline(context: FrameContext, severity: Severity, levelStops: number): Flag {
  const { frame, light, setup, plan } = context;
  const ofLight = light.lightStops === null ? 'its light not readable' : `light ${signedStops(light.lightStops)}`;
  const parts = `settings ${signedStops(light.settingsStops)}, ${ofLight}`;
  return {
    code: 'level-off-baseline',
    severity,
    stops: levelStops,
    region: frame.facts.basis === 'face' ? 'face' : 'frame',
    because: `The subject is ${stopsText(levelStops)} ${brighterOrDarker(levelStops)} than ${setup.id}'s baseline (${parts}; tolerance ${plan.toleranceStops.toFixed(2)}).`,
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

function lightFlag(context: FrameContext, lightStops: number, severity: Severity): Flag {
  const { light, frame } = context;
  if (light.witnesses === 'disagree' && frame.facts.basis === 'face')
    return subjectMoved(context, lightStops, severity);
  const cause = lightCause(context, lightStops);
  return { code: cause.code, severity, stops: lightStops, because: cause.because };
}

function subjectMoved(context: FrameContext, stops: number, severity: Severity): Flag {
  const wall = context.light.wallStops ?? 0;
  const size = nearerText(context, stops);
  const told =
    size === null ? ': the sitter moved or turned in the light, or somebody else stands there.' : `. ${size}`;
  return {
    code: stops < 0 ? 'face-dark' : 'face-bright',
    // Somebody who only looks alike cannot be ruled out, so it is never more than worth a look.
    severity: severity === 'fault' ? 'check' : severity,
    stops,
    region: 'face',
    because: `The face is ${stopsText(stops)} ${brighterOrDarker(stops)} than in this sitter's other frames while the background stands at ${signedStops(wall)}${told}`,
  };
}

function lightCause(context: FrameContext, stops: number): { code: FlagCode; because: string } {
  const { lightKind, frame, setup } = context;
  if (lightKind.kind === 'flash' && stops < 0) {
    const silentByBits = frame.facts.flashFired === false && setup.medians.someFlashFired;
    if (stops <= -MISSING_FROM_STOPS || (silentByBits && stops <= -SILENT_BY_BITS_STOPS)) {
      const bits = silentByBits ? '; the file says that it did not fire' : '';
      return {
        code: 'light-missing',
        because: `The light fell by ${stopsText(stops)} with the settings accounted for: the flash did not fire${bits}.`,
      };
    }
    if (isolated(context, stops) && soonEnough(context))
      return { code: 'light-short', because: shortText(context, stops) };
  }
  const way = stops < 0 ? 'fell' : 'rose';
  return {
    code: 'light-changed',
    because: `The light on the subject ${way} by ${stopsText(stops)} against ${setup.id} with the settings accounted for: moved, turned or ${stops < 0 ? 'down' : 'up'}; ${thirdSteps(-stops)} undo it.`,
  };
}

function shortText({ sincePreviousMs, usualIntervalMs }: FrameContext, stops: number): string {
  const timing =
    sincePreviousMs === null || usualIntervalMs === null
      ? ''
      : ` ${(sincePreviousMs / 1000).toFixed(1)} s after the frame before (usually ${(usualIntervalMs / 1000).toFixed(1)} s)`;
  return `The flash gave ${stopsText(stops)} less than usual${timing}: fired before it was recharged.`;
}

/** At most two frames in a row are low together. */
function isolated({ setup, index }: FrameContext, stops: number): boolean {
  const alike = (i: number): boolean => {
    const other = setup.lights[i]?.lightStops;
    return other !== null && other !== undefined && other < 0.5 * stops;
  };
  let run = 1;
  for (let i = index - 1; i >= 0 && alike(i); i--) run++;
  for (let i = index + 1; i < setup.lights.length && alike(i); i++) run++;
  return run <= 2;
}

function soonEnough({ sincePreviousMs, usualIntervalMs }: FrameContext): boolean {
  if (sincePreviousMs === null || usualIntervalMs === null) return true;
  return sincePreviousMs <= SHORT_WITHIN_INTERVALS * usualIntervalMs;
}
