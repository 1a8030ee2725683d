import { median, robustSigma } from '../../photometry/robust-statistics.js';
import { predictedChangeStops } from '../../photometry/predicted-change.js';
import { orderFrames } from '../order.js';
import type { JudgedFrameInput } from '../input.js';
import type { LearnedResponse } from './learned-response.js';

/** Frames further apart than this are hardly under one light. */
const NEXT_WITHIN_MS = 120_000;
/** Smaller changes of the settings say less than their noise. */
const LEAST_CHANGE_STOPS = 0.6;
const LEAST_CHANGES = 5;
/** Measured over predicted outside this is light or compensation, not the curve. */
const PLAUSIBLE_RATIO = { from: 0.6, to: 1.6 } as const;
const LARGEST_SPREAD = 0.08;
/** Share of the settings changes that must be explained by one ratio. */
const LEAST_AGREEING_SHARE = 0.8;
/** The median of so many changes of so little spread is known better than this, which other scenes may add. Ours. */
const UNCERTAINTY_STOPS = 0.04;

/**
 * The response of one camera from frames whose settings changed under one light: neighbouring frames where the settings
 * predict a change, the wall and the subject agree, and all changes show one ratio of read to true stops. Null where the
 * evidence is thin, which is most often. The shutter does not count with flash, so only aperture and ISO are used unless
 * the light is known to be continuous.
 */
export function responseFromSettings(
  frames: readonly JudgedFrameInput[],
  light: 'auto' | 'flash' | 'continuous',
): LearnedResponse | null {
  const ordered = orderFrames(frames);
  const ratios: number[] = [];
  let changes = 0;
  for (let i = 0; i + 1 < ordered.length; i++) {
    const ratio = ratioBetween(ordered[i], ordered[i + 1], light);
    if (ratio === null) continue;
    changes++;
    if (ratio >= PLAUSIBLE_RATIO.from && ratio <= PLAUSIBLE_RATIO.to) ratios.push(ratio);
  }
  if (ratios.length < LEAST_CHANGES || ratios.length < LEAST_AGREEING_SHARE * changes) return null;
  const slope = median(ratios);
  const spread = robustSigma(ratios);
  if (slope === null || spread === null || spread > LARGEST_SPREAD) return null;
  return {
    readStops: [-slope, slope],
    lightStops: [-1, 1],
    uncertaintyStops: UNCERTAINTY_STOPS,
    because: `learned in this shoot from ${ratios.length} changes of the settings under one light: one stop read as ${slope.toFixed(2)}`,
  };
}

function ratioBetween(
  a: JudgedFrameInput | undefined,
  b: JudgedFrameInput | undefined,
  light: 'auto' | 'flash' | 'continuous',
): number | null {
  const from = a?.measurement;
  const to = b?.measurement;
  if (!from || !to) return null;
  const elapsed = (to.exposure.capturedAt?.epochMs ?? NaN) - (from.exposure.capturedAt?.epochMs ?? NaN);
  if (!(elapsed <= NEXT_WITHIN_MS)) return null;
  if (light === 'auto' && from.exposure.tv !== to.exposure.tv) return null;
  const predicted = predictedChangeStops(from.exposure, to.exposure, light === 'continuous' ? 1 : 0);
  if (predicted === null || Math.abs(predicted) < LEAST_CHANGE_STOPS) return null;
  const face = change(mainFaceLevel(from), mainFaceLevel(to));
  const wall = change(from.background.levelStops, to.background.levelStops);
  if (face === null || wall === null || Math.abs(face - wall) > 0.15 * Math.abs(predicted)) return null;
  return (face + wall) / 2 / predicted;
}

type Measurement = NonNullable<JudgedFrameInput['measurement']>;

const mainFaceLevel = (m: Measurement): number | null => m.people.find((p) => p.main)?.face?.levelStops ?? null;

const change = (from: number | null, to: number | null): number | null =>
  from === null || to === null ? null : to - from;
