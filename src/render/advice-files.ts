import type { CameraCalibration } from '../contracts/calibration.js';
import type { FrameProducts } from '../contracts/jobs.js';
import type { FrameMeasurement } from '../contracts/measurement.js';
import type { Lift, CorrectedFrame } from '../contracts/report.js';
import { beforeAfterJpeg, hasCorrection } from './before-after.js';
import { liftMask, maskGround, type LiftRegion } from './lift-mask.js';
import { encodeLiftMask, type MaskDepth, type MaskFormat } from './lift-mask-file.js';

export interface MaskKind {
  format: MaskFormat;
  depth: MaskDepth;
}

/** A lift of a region; one of the whole frame needs no mask. */
export type MaskedLift = Lift & { region: LiftRegion };

/** Makes the pictures of a report's advice, or fetches them from where they are made. */
export interface AdviceSource {
  /** Null where there is none to have. */
  beforeAfter(frame: CorrectedFrame): Promise<Uint8Array | null>;
  mask(frame: CorrectedFrame, lift: MaskedLift, kind: MaskKind): Promise<Uint8Array>;
}

/** Long edge of one half of a before-and-after picture, in pixels: that of the previews. */
export const BEFORE_AFTER_LONG_EDGE_PX = 1024;

/** Frames whose corrections are worth a picture: those that a consistent frame gets are too small to be seen. */
export const wantsBeforeAfter = (frame: CorrectedFrame): boolean =>
  frame.verdict !== 'consistent' && hasCorrection(frame);

export const maskedLifts = (frame: CorrectedFrame): MaskedLift[] =>
  frame.lifts.flatMap((lift) => (lift.region === 'frame' ? [] : [{ ...lift, region: lift.region }]));

/** Makes them here, of what was measured. */
export function localAdvice(
  of: (name: string) => Promise<{ measurement: FrameMeasurement; products: FrameProducts }>,
  calibrations: readonly CameraCalibration[],
): AdviceSource {
  return {
    async beforeAfter(frame) {
      return beforeAfterJpeg({ frame, calibrations, ...(await of(frame.name)) }, BEFORE_AFTER_LONG_EDGE_PX);
    },
    async mask(frame, { region, outline }, { format, depth }) {
      const { measurement, products } = await of(frame.name);
      const mask = liftMask(await maskGround(products), region, outline);
      return encodeLiftMask(mask, { format, depth, size: measurement.source });
    },
  };
}
