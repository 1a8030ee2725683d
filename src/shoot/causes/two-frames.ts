import type { Flag } from '../../contracts/report.js';
import { difference } from '../known.js';
import type { FrameContext } from '../setup-state.js';
import { severityOf } from '../severity.js';
import { brighterOrDarker, stopsText } from '../wording.js';
import { lightCause } from './light-told.js';

/**
 * A set-up of two frames with the same settings: where their light differs nothing tells which is as meant, so both are
 * worth a look, and the difference between them is told. A flash that plainly did not fire is told as such.
 */
export function apartFlags(context: FrameContext): Flag[] {
  const { light, plan, setup, index, frame } = context;
  const other = setup.lights[1 - index];
  const apart = difference(light.lightStops, other?.lightStops ?? null);
  if (apart === null) return [];
  const error = Math.hypot(light.errorStops, other?.errorStops ?? 0);
  if (severityOf(apart, plan.toleranceStops, frame.facts.uncertaintyPerStop, error, 'one') === null) return [];
  const cause = apart < 0 ? lightCause(context, apart) : null;
  const level: Flag = {
    code: 'level-off-baseline',
    severity: 'check',
    stops: apart,
    region: frame.facts.basis === 'face' ? 'face' : 'frame',
    because: `It is ${stopsText(apart)} ${brighterOrDarker(apart)} than ${setup.frames[1 - index]?.facts.name ?? 'the other frame'}, the only other one of ${setup.id}: nothing tells which of the two is as meant.`,
  };
  if (cause?.code !== 'light-missing') return [level];
  return [
    { code: cause.code, severity: 'fault', stops: apart, because: cause.because },
    { ...level, severity: 'fault' },
  ];
}
