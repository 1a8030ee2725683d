import { describe, expect, it } from 'vitest';
import { MeasuringOptions } from '../../src/contracts/options.js';
import type { CameraCalibration } from '../../src/contracts/calibration.js';
import { LOCAL_TONE_MAPPING_UNCERTAINTY_STOPS } from '../../src/photometry/tone-response.js';
import { chooseToneResponse } from '../../worker/measure/choose-tone-response.js';
import { renderingKeyOf } from '../../worker/measure/rendering-key.js';
import { fakeMeasurement } from '../support/measurement.js';

const exposure = { ...fakeMeasurement().exposure, cameraMake: 'Village Hall Cameras', cameraModel: 'Trestle 4' };
const options = (more: object = {}) => MeasuringOptions.parse(more);
const calibration: CameraCalibration = {
  key: renderingKeyOf(exposure, 'sRGB')!,
  knots: { fileLinear: [0.01, 0.18, 0.9], sceneLinear: [0.03, 0.18, 0.7] },
  method: 'logistic',
  residualStops: 0.03,
  uncertaintyStops: 0.02,
  frames: 5,
  spanStops: 4,
};

describe('which response is undone', () => {
  it('raw: none is needed', () => {
    const { response, curve } = chooseToneResponse('scene', options(), exposure, null);
    expect(response.source).toBe('scene');
    expect(curve.toScene(0.4)).toBe(0.4);
  });

  it('a plain file: none, on request', () => {
    const { response, curve } = chooseToneResponse('rendered', options({ toneResponse: 'none' }), exposure, 'sRGB');
    expect(response).toMatchObject({ source: 'none', slopeAtMid: 1, uncertaintyStops: 0 });
    expect(curve.toScene(0.4)).toBe(0.4);
  });

  it('a camera that is calibrated: its own, and no other camera, rendering or profile', () => {
    const given = options({ calibrations: [calibration] });
    expect(chooseToneResponse('rendered', given, exposure, 'sRGB').response.source).toBe('calibrated');
    for (const [other, profile] of [
      [{ ...exposure, cameraModel: 'Gable 2' }, 'sRGB'],
      [{ ...exposure, renderingSettings: 'contrast 2' }, 'sRGB'],
      [exposure, 'Adobe RGB (1998)'],
      [{ ...exposure, cameraModel: null }, 'sRGB'],
    ] as const)
      expect(chooseToneResponse('rendered', given, other, profile).response.source).toBe('assumed');
  });

  it('phones map tones locally: the assumed curve is trusted less, and says why', () => {
    const camera = chooseToneResponse('rendered', options(), exposure, 'sRGB').response;
    for (const cameraMake of ['Apple', 'samsung', 'Google']) {
      const phone = chooseToneResponse('rendered', options(), { ...exposure, cameraMake }, 'sRGB').response;
      expect(phone.source).toBe('assumed');
      expect(phone.uncertaintyStops).toBeGreaterThan(2 * camera.uncertaintyStops);
      expect(phone.because).toMatch(/map tones locally/);
    }
  });

  it('a calibrated phone is trusted no better: its curve differs from scene to scene', () => {
    const phone = { ...exposure, cameraMake: 'Apple' };
    const given = options({ calibrations: [{ ...calibration, key: renderingKeyOf(phone, 'sRGB')! }] });
    const { response } = chooseToneResponse('rendered', given, phone, 'sRGB');
    expect(response).toMatchObject({ source: 'calibrated', uncertaintyStops: LOCAL_TONE_MAPPING_UNCERTAINTY_STOPS });
    expect(response.because).toMatch(/map tones locally/);
  });
});
