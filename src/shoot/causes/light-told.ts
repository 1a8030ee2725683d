import type { Flag, FlagCode, Severity } from '../../contracts/report.js';
import type { FrameContext } from '../setup-state.js';
import { brighterOrDarker, signedStops, stepsThat, stopsText } from '../wording.js';
import { nearerText } from './nearer.js';

/** A flash that reaches the ready light fires 0.5 to 0.9 stop short (reference measurements of five units); beyond this it did not fire. */
const MISSING_FROM_STOPS = 1.3;
/** A frame whose file says that the flash did not fire needs less to be called silent. Ours. */
const SILENT_BY_BITS_STOPS = 0.6;
/** A short charge comes no later than this many usual intervals after the frame before. Ours. */
const SHORT_WITHIN_INTERVALS = 1.5;

/** What happened to the light of one frame, or to the sitter in it. */
export function lightFlag(context: FrameContext, lightStops: number, severity: Severity): Flag {
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

/** The likeliest cause of a change of light: silent, short, or moved. */
export function lightCause(context: FrameContext, stops: number): { code: FlagCode; because: string } {
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
    because: `The light on the subject ${way} by ${stopsText(stops)} against ${setup.id} with the settings accounted for: moved, turned or ${stops < 0 ? 'down' : 'up'}; ${stepsThat('undo', -stops)}.`,
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
