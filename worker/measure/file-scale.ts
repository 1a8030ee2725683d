import type { ToneCurve } from '../../src/photometry/tone-response.js';
import type { DecodedFrame } from '../decode/decoded-frame.js';
import type { FileScale } from './working-image.js';

/** Top and steps of a file's codes in light, `curve` being the tone response that is undone. */
export function fileScaleOf(
  frame: Pick<DecodedFrame, 'codeToLinear' | 'clipFromCode' | 'maxCode'>,
  curve: Pick<ToneCurve, 'toScene'>,
): FileScale {
  const channel = <T>(of: readonly T[], c: number): T => of[Math.min(c, of.length - 1)]!;
  const top = (c: number) =>
    curve.toScene(channel(frame.codeToLinear, c)[channel(frame.clipFromCode, c) ?? frame.maxCode]!);
  const green = channel(frame.codeToLinear, 1);
  // Filled as codes are asked for: a 16-bit file has more of them than are met.
  const scene = new Float64Array(green.length).fill(NaN);
  const sceneOf = (code: number): number => {
    const known = scene[code]!;
    return Number.isNaN(known) ? (scene[code] = curve.toScene(green[code]!)) : known;
  };
  return {
    topLinear: [top(0), top(1), top(2)],
    codeStepLinear: (sceneLinear) => {
      // The last code whose light is not above the value, and the next.
      let low = 0;
      let high = green.length - 1;
      while (high - low > 1) {
        const middle = (low + high) >> 1;
        if (sceneOf(middle) <= sceneLinear) low = middle;
        else high = middle;
      }
      return Math.max(Number.EPSILON, sceneOf(high) - sceneOf(low));
    },
  };
}
