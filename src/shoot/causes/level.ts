import type { Flag, Severity } from '../../contracts/report.js';
import type { FrameContext } from '../setup-state.js';
import { severityOf } from '../severity.js';
import { brighterOrDarker, signedStops, stopsText } from '../wording.js';
import { lightFlag } from './light-told.js';
import { SETTINGS_STOPS, compensated, settingsFlag, settingsNote, settingsSeverity } from './settings-told.js';
import { apartFlags } from './two-frames.js';

/** People who look alike pass for one while their faces stand within 0.35 stop (group-sitters.ts), and pose adds to it. Ours. */
const MAY_BE_SKIN_STOPS = 0.42;
/** Settings and light that leave a level within this share of the tolerance cancel, whatever each is uncertain by. Ours. */
const MADE_UP_SHARE = 0.5;

/** Level against the set-up: what the settings did, what the light did, or whether only the subject moved. */
export function levelFlags(context: FrameContext): Flag[] {
  const { light, plan, frame, setup } = context;
  const tolerance = plan.toleranceStops;
  const u = frame.facts.uncertaintyPerStop;
  const { settingsStops: settings, lightStops, levelStops } = light;
  const settingsMoved = light.settingsKnown && Math.abs(settings) >= SETTINGS_STOPS;
  if (lightStops === null || levelStops === null) return settingsMoved ? settingsOnly(context) : [];
  const size = Math.max(Math.abs(levelStops), Math.abs(settings));
  // The tone response may misread a step of the settings by so much; that is not the light.
  const lightSteady = Math.abs(lightStops) <= Math.max(0.6 * tolerance, 2 * Math.hypot(u * size, light.errorStops));
  const witnesses = light.witnesses === 'both' ? 'two' : 'one';
  if (setup.frames.length === 2 && !settingsMoved) return apartFlags(context);
  const widening = levelStops === 0 ? u : (u * size) / Math.abs(levelStops);
  const severity = severityOf(levelStops, tolerance, widening, light.errorStops, witnesses);
  const flags: Flag[] = [];
  const subjectOnly = light.witnesses === 'disagree' && !settingsMoved;
  if (subjectOnly && Math.abs(lightStops) <= MAY_BE_SKIN_STOPS) return [];

  if (settingsMoved && lightSteady) {
    const bySettings = settingsSeverity(settings, tolerance);
    if (bySettings === null) return [settingsNote(context)];
    if (Math.abs(levelStops) > MADE_UP_SHARE * tolerance)
      return [
        settingsFlag(context, bySettings),
        Math.abs(levelStops) > tolerance
          ? offBaseline(context, bySettings, levelStops)
          : offBySettings(context, bySettings, levelStops),
      ];
  }
  if (severity === null) {
    if (settingsMoved) flags.push(compensated(context, lightStops));
    return flags;
  }
  if (settingsMoved) flags.push(settingsFlag(context, settingsSeverity(settings, tolerance) ?? 'note'));
  const lightSeverity = severityOf(lightStops, tolerance, u, light.errorStops, witnesses);
  if (lightSeverity !== null) flags.push(lightFlag(context, lightStops, lightSeverity));
  flags.push(offBaseline(context, subjectOnly ? 'check' : severity, levelStops));
  return flags;
}

/** No level to compare with: the settings alone tell. */
function settingsOnly(context: FrameContext): Flag[] {
  const { settingsStops } = context.light;
  if (settingsSeverity(settingsStops, context.plan.toleranceStops) === null) return [settingsNote(context)];
  return [settingsFlag(context, 'check'), offBaseline(context, 'check', settingsStops)];
}

/** The settings are known better than the level: where they put it off they are believed, and what was measured is told. */
function offBySettings({ light, setup, plan, frame }: FrameContext, severity: Severity, levelStops: number): Flag {
  const { settingsStops } = light;
  return {
    code: 'level-off-baseline',
    severity,
    stops: settingsStops,
    region: frame.facts.basis === 'face' ? 'face' : 'frame',
    because: `By its settings the subject is ${stopsText(settingsStops)} ${brighterOrDarker(settingsStops)} than ${setup.id}'s baseline (measured ${signedStops(levelStops)}; tolerance ${plan.toleranceStops.toFixed(2)}).`,
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
