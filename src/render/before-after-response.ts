import type { CameraCalibration } from '../contracts/calibration.js';
import type { FrameMeasurement } from '../contracts/measurement.js';
import type { ToneResponse } from '../contracts/tone.js';
import { MID_GREY_LINEAR } from '../photometry/stops.js';
import { ASSUMED_CAMERA_CURVE, STRAIGHT, knotToneCurve, type ToneCurve } from '../photometry/tone-response.js';

/** The assumed camera curve bent about mid-grey until one stop of light there is `slopeAtMid` stops in the file. */
function bentTo(slopeAtMid: number): ToneCurve {
  const power = ASSUMED_CAMERA_CURVE.slopeAtMid / slopeAtMid;
  return {
    toScene: (y) => MID_GREY_LINEAR * (ASSUMED_CAMERA_CURVE.toScene(y) / MID_GREY_LINEAR) ** power,
    toFile: (x) => ASSUMED_CAMERA_CURVE.toFile(MID_GREY_LINEAR * (Math.max(0, x) / MID_GREY_LINEAR) ** (1 / power)),
    slopeAtMid,
  };
}

/**
 * The curve between the light and the frame's preview. Raw: the curve that its preview was made with. Calibrated: the
 * calibration itself when it is among `calibrations`. Learned, or a calibration that is no longer kept: the assumed
 * curve bent to the slope at mid-grey, which is all that a report holds of it.
 *
 * @param response the report's word on the frame, which may be better than the measurement's (learned)
 */
export function previewResponse(
  measurement: FrameMeasurement,
  response: ToneResponse,
  calibrations: readonly CameraCalibration[],
): ToneCurve {
  switch (response.source) {
    case 'none':
      return STRAIGHT;
    case 'scene':
    case 'assumed':
      return ASSUMED_CAMERA_CURVE;
    case 'learned':
      return bentTo(response.slopeAtMid);
    case 'calibrated': {
      const { cameraMake, cameraModel } = measurement.exposure;
      for (const { key, knots } of calibrations) {
        if (key.cameraModel !== cameraModel || key.cameraMake !== (cameraMake ?? '')) continue;
        const curve = knotToneCurve(knots.fileLinear, knots.sceneLinear);
        if (Math.abs(curve.slopeAtMid - response.slopeAtMid) < 1e-6) return curve;
      }
      return bentTo(response.slopeAtMid);
    }
  }
}
