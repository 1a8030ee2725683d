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
  return new CodesInLight([top(0), top(1), top(2)], channel(frame.codeToLinear, 1), curve);
}

/** Asked for every pixel of a face: methods of a class stay compiled from frame to frame, functions made for each do not. */
class CodesInLight implements FileScale {
  private readonly scene: Float64Array;

  constructor(
    readonly topLinear: FileScale['topLinear'],
    private readonly green: Float32Array,
    private readonly curve: Pick<ToneCurve, 'toScene'>,
  ) {
    // Filled as codes are asked for: a 16-bit file has more of them than are met.
    this.scene = new Float64Array(green.length).fill(NaN);
  }

  codeStepLinear(sceneLinear: number): number {
    // The last code whose light is not above the value, and the next.
    let low = 0;
    let high = this.green.length - 1;
    while (high - low > 1) {
      const middle = (low + high) >> 1;
      if (this.sceneOf(middle) <= sceneLinear) low = middle;
      else high = middle;
    }
    return Math.max(Number.EPSILON, this.sceneOf(high) - this.sceneOf(low));
  }

  private sceneOf(code: number): number {
    const known = this.scene[code]!;
    return Number.isNaN(known) ? (this.scene[code] = this.curve.toScene(this.green[code]!)) : known;
  }
}
