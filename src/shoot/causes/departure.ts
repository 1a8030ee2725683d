import type { Flag, Severity } from '../../contracts/report.js';
import type { FrameContext } from '../setup-state.js';
import { severityOf } from '../severity.js';
import { brighterOrDarker, stepsThat, stopsText } from '../wording.js';

/** The whole set-up is an earlier one with the light or a setting changed and nobody metering again. */
export function departureFlags({ setup, plan, frame }: FrameContext): Flag[] {
  const { departure, departedFromId } = setup;
  if (departure === null || departedFromId === null) return [];
  const level = departure.settingsStops + departure.lightStops;
  const ofLight = Math.abs(departure.lightStops) >= Math.abs(departure.settingsStops);
  const severity = severityOf(level, plan.toleranceStops, ofLight ? frame.facts.uncertaintyPerStop : 0, 0);
  if (severity === null) return [];
  const doubt = departure.sure ? '' : ' It may be meant: a pause or a change of sitter lies between.';
  const what = ofLight
    ? 'the light moved or was turned, the settings stayed'
    : 'a setting was changed, the light stayed';
  const told: Severity = departure.sure ? severity : 'check';
  return [
    {
      code: 'level-off-baseline',
      severity: told,
      stops: level,
      because: `With the rest of ${setup.id} it is ${stopsText(level)} ${brighterOrDarker(level)} than the level metered for in ${departedFromId}.`,
    },
    {
      code: ofLight ? 'light-changed' : 'settings-changed',
      severity: told,
      stops: level,
      because: `All of ${setup.id} is ${stopsText(level)} ${brighterOrDarker(level)} than ${departedFromId} was metered for (${what}); ${stepsThat('restore', -level)}.${doubt}`,
    },
  ];
}
