import type { FlagCode, ReportFrame } from '../contracts/report.js';
import type { FrameAdvice } from '../contracts/watch.js';
import { thirdStopSteps } from '../photometry/stops.js';

const stepsText = (steps: number): string =>
  `${steps < 0 ? '-' : '+'}${Math.abs(steps)} third-stop step${Math.abs(steps) === 1 ? '' : 's'}`;

/** Steps that take a deviation away; null where it is unknown or nearer than half a step. */
function undoing(stops: number | null): number | null {
  const steps = stops === null ? 0 : -thirdStopSteps(stops);
  return steps === 0 ? null : steps;
}

function turn(what: string, steps: number | null, otherwise: string): FrameAdvice {
  return { text: steps === null ? otherwise : `${what} ${stepsText(steps)}`, thirdStopSteps: steps };
}

/** What each flag asks for, the first that a frame has counts. */
const ADVICE: readonly [FlagCode, (frame: ReportFrame) => FrameAdvice][] = [
  ['light-missing', () => turn('', null, 'shoot again: the light did not fire')],
  ['light-short', () => turn('', null, 'shoot again: the light had not recharged')],
  ['settings-changed', ({ deviation }) => turn('exposure', undoing(deviation.ofWhichSettingsStops), 'look at the camera settings')], // prettier-ignore
  ['light-changed', ({ deviation }) => turn('light', undoing(deviation.ofWhichLightStops), 'look at the light')],
  ['settings-off-plan', ({ deviation }) => turn('exposure', undoing(deviation.fromPlanStops), 'look at the camera settings')], // prettier-ignore
  ['level-off-baseline', ({ deviation }) => turn('light or exposure', undoing(deviation.fromSetupStops), 'look at the level')], // prettier-ignore
  ['face-clipped', () => turn('', null, 'a face is clipped: less exposure')],
  ['lower-body-dark', ({ lifts }) => turn('light on the lower body', undoing(negated(lifts.find(({ region }) => region === 'lower-body')?.stops)), 'more light on the lower body')], // prettier-ignore
  ['face-dark', () => turn('', null, 'look at the light on the face')],
  ['face-bright', () => turn('', null, 'look at the light on the face')],
  ['contrast-shifted', () => turn('', null, 'look at the light’s direction')],
  ['background-shifted', () => turn('', null, 'look at the light on the background')],
  ['cast-shifted', () => turn('', null, 'look at white balance and gels')],
  ['highlights-clipped', () => turn('', null, 'highlights are clipped: less exposure')],
  ['blacks-clipped', () => turn('', null, 'blacks are clipped: more light or exposure')],
];

const negated = (stops: number | undefined): number | null => (stops === undefined ? null : -stops);

/**
 * What to do about a frame while its set-up still stands: the worst cause first, in third-stop steps where it can be
 * turned. Null for a frame that asks for nothing.
 */
export function adviceFor(frame: ReportFrame): FrameAdvice | null {
  if (frame.verdict === 'consistent') return null;
  if (frame.verdict === 'unreadable') return turn('', null, 'shoot again or copy again: the file cannot be read');
  const codes = new Set(frame.flags.filter(({ severity }) => severity !== 'note').map(({ code }) => code));
  return ADVICE.find(([code]) => codes.has(code))?.[1](frame) ?? null;
}
