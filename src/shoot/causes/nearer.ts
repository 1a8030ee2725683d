import { difference, known, medianKnown } from '../known.js';
import type { FrameContext } from '../setup-state.js';
import { signedStops } from '../wording.js';

/** Frames of the same sitter on each side that tell the usual size of the head. */
const AROUND_FRAMES = 4;
const LEAST_FRAMES = 3;
/** The photographer keeps the distance and framing where heads scatter by no more than this (log2). Ours. */
const STEADY_LOG2 = 0.25;
/** A smaller change of the head's size is pose and finding. Ours. */
const LEAST_LOG2 = 0.15;
/** The light need not stand by the camera, so its step may miss the head's by so much. Ours. */
const FITS = { stops: 0.3, share: 0.35 } as const;

/**
 * Whether the sitter came nearer to the light or went further from it, told by the size of the head: with the framing
 * kept, twice as large is twice as near to the camera, and for a light beside the camera two stops more (inverse
 * square). A sentence with the numbers, or null where the head tells nothing.
 */
export function nearerText({ frame, setup, index }: FrameContext, stops: number): string | null {
  const around: (number | null)[] = [];
  for (let k = index - AROUND_FRAMES; k <= index + AROUND_FRAMES; k++) {
    const other = setup.frames[k];
    if (other === undefined || k === index || other.sitter !== frame.sitter) continue;
    if (Math.abs(difference(other.facts.focalLog2, frame.facts.focalLog2) ?? 0) > LEAST_LOG2) continue;
    around.push(other.facts.cropLog2);
  }
  const usual = medianKnown(around);
  const grown = difference(frame.facts.cropLog2, usual);
  if (usual === null || grown === null || known(around).length < LEAST_FRAMES) return null;
  const scatter = medianKnown(around.map((crop) => (crop === null ? null : Math.abs(crop - usual))));
  if (scatter === null || scatter > STEADY_LOG2) return null;
  const predicted = 2 * grown;
  if (Math.abs(grown) < LEAST_LOG2)
    return Math.abs(stops) < 2 * LEAST_LOG2
      ? null
      : 'The head is as large as in the frames around, so the distance is the same: turned in the light, or the light was moved.';
  if (Math.abs(stops - predicted) > FITS.stops + FITS.share * Math.abs(predicted)) return null;
  const times = (2 ** grown).toFixed(2);
  return `The head is ${times} times as large as in the frames around: the sitter stands ${stops > 0 ? 'nearer to' : 'further from'} the light, which by the inverse square gives ${signedStops(predicted)} stop for a light beside the camera.`;
}
