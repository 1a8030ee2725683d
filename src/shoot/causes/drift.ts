import type { Flag } from '../../contracts/report.js';
import { severityOf } from '../severity.js';
import { totalOf, type FrameContext } from '../setup-state.js';
import { brighterOrDarker, signedStops, stepsThat, stopsText } from '../wording.js';

/** The drift has to be this much of what the frame is off by; else another cause tells it. Ours. */
const LEAST_PART = 0.5;

/** A frame nearer to what was metered than this share of the tolerance needs nothing done. Ours. */
const MADE_UP_SHARE = 0.5;

/** The light had drifted so far by this frame that it stands outside the tolerance, whatever the frame itself did. */
export function driftFlags(context: FrameContext): Flag[] {
  const { frame, setup, plan, light, index } = context;
  const { drift } = setup;
  if (drift === null || frame.driftStops === 0) return [];
  const total = totalOf(context).levelStops ?? frame.driftStops;
  const part = frame.driftStops / (total || 1);
  if (part < LEAST_PART) return [];
  const error = Math.hypot(drift.errorStopsPerFrame * Math.max(0, index - drift.first), 0.5 * light.errorStops);
  // What the whole set-up owes to an earlier one is told by its own cause.
  const here = total - (setup.departure === null ? 0 : setup.departure.settingsStops + setup.departure.lightStops);
  // The frame's own scatter neither makes nor undoes a drift, unless it makes up for it.
  if (Math.abs(here) < MADE_UP_SHARE * plan.toleranceStops) return [];
  const severity = severityOf(frame.driftStops, plan.toleranceStops, frame.facts.uncertaintyPerStop, error, 'one');
  if (severity === null) return [];
  const rate = `${signedStops(100 * drift.stopsPerFrame)} stop in 100 frames`;
  return [
    {
      code: 'light-changed',
      severity: drift.witnesses === 'both' ? severity : 'check',
      stops: frame.driftStops,
      because: `The light drifts through ${setup.id} (${rate}, uncertain by ${(100 * drift.errorStopsPerFrame).toFixed(2)}): by this frame ${signedStops(frame.driftStops)} stop; ${stepsThat('undo', -frame.driftStops)}.`,
    },
    {
      code: 'level-off-baseline',
      severity: drift.witnesses === 'both' ? severity : 'check',
      stops: total,
      region: frame.facts.basis === 'face' ? 'face' : 'frame',
      because: `The subject is ${stopsText(total)} ${brighterOrDarker(total)} than ${setup.id} was metered for (drift ${signedStops(frame.driftStops)}; tolerance ${plan.toleranceStops.toFixed(2)}).`,
    },
  ];
}
