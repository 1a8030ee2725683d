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
  return {
    topLinear: [top(0), top(1), top(2)],
    codeStepLinear: (sceneLinear) => {
      // The last code whose light is not above the value, and the next.
      let low = 0;
      let high = green.length - 1;
      while (high - low > 1) {
        const middle = (low + high) >> 1;
        if (curve.toScene(green[middle]!) <= sceneLinear) low = middle;
        else high = middle;
      }
      return Math.max(Number.EPSILON, curve.toScene(green[high]!) - curve.toScene(green[low]!));
    },
  };
}
