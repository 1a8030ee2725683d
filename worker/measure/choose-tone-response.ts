import type { ExposureData } from '../../src/contracts/exposure.js';
import type { CameraCalibration } from '../../src/contracts/calibration.js';
import type { MeasuringOptions } from '../../src/contracts/options.js';
import type { ToneResponse } from '../../src/contracts/tone.js';
import {
  ASSUMED_CAMERA_CURVE,
  ASSUMED_CAMERA_UNCERTAINTY_STOPS,
  LOCAL_TONE_MAPPING_UNCERTAINTY_STOPS,
  STRAIGHT,
  knotToneCurve,
  type ToneCurve,
} from '../../src/photometry/tone-response.js';

import { renderingKeyOf, sameKey } from './rendering-key.js';

export interface ChosenToneResponse {
  response: ToneResponse;
  curve: ToneCurve;
}

/** Makers whose cameras map tones locally by default; common practice, no single source. */
const LOCAL_TONE_MAPPERS = /^(apple|google|samsung|xiaomi|huawei|honor|oppo|oneplus|vivo|motorola|nothing|realme)\b/i;

/** Which response to undo, and how far it can be trusted. */
export function chooseToneResponse(
  encoding: 'rendered' | 'scene',
  options: MeasuringOptions,
  exposure: ExposureData,
  profileDescription: string | null,
): ChosenToneResponse {
  if (encoding === 'scene') {
    return {
      curve: STRAIGHT,
      response: {
        source: 'scene',
        slopeAtMid: 1,
        uncertaintyStops: 0.01,
        because: 'raw data are proportional to light',
      },
    };
  }
  if (options.toneResponse === 'none') {
    return {
      curve: STRAIGHT,
      response: {
        source: 'none',
        slopeAtMid: 1,
        uncertaintyStops: 0,
        because: 'the plan says that the files hold plain encoded light without a camera curve',
      },
    };
  }
  const key = renderingKeyOf(exposure, profileDescription);
  const calibration = key && options.calibrations.find((c) => sameKey(c.key, key));
  const local = LOCAL_TONE_MAPPERS.test(exposure.cameraMake ?? '');
  if (calibration) return calibrated(calibration, local ? exposure.cameraMake : null);
  return {
    curve: ASSUMED_CAMERA_CURVE,
    response: {
      source: 'assumed',
      slopeAtMid: ASSUMED_CAMERA_CURVE.slopeAtMid,
      uncertaintyStops: local ? LOCAL_TONE_MAPPING_UNCERTAINTY_STOPS : ASSUMED_CAMERA_UNCERTAINTY_STOPS,
      because: local
        ? `a typical camera curve is assumed, but cameras by ${exposure.cameraMake} map tones locally and have no one curve`
        : 'a typical camera curve is assumed; a calibration of this camera would narrow the uncertainty',
    },
  };
}

/** `localMaker`: named where its cameras map tones locally, so that a fit to one scene does not hold for the next. */
function calibrated(
  { knots, uncertaintyStops, frames, residualStops }: CameraCalibration,
  localMaker: string | null,
): ChosenToneResponse {
  const fitted = `fitted to a bracket of ${frames} frames of this camera and rendering, ${residualStops.toFixed(3)} stop left unexplained`;
  const curve = knotToneCurve(knots.fileLinear, knots.sceneLinear);
  return {
    curve,
    response: {
      source: 'calibrated',
      slopeAtMid: curve.slopeAtMid,
      uncertaintyStops:
        localMaker === null ? uncertaintyStops : Math.max(uncertaintyStops, LOCAL_TONE_MAPPING_UNCERTAINTY_STOPS),
      because:
        localMaker === null
          ? fitted
          : `${fitted}; but cameras by ${localMaker} map tones locally, so what one scene taught is not sure for another`,
    },
  };
}
