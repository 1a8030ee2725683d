import { describe, expect, it } from 'vitest';
import { cameraOf, tracksOf } from '../../../src/shoot/tracks.js';
import { fakeMeasurement, type FakeFrame } from '../../support/measurement.js';
import { factOf } from '../../support/frame-facts.js';

describe('tracks that can be compared', () => {
  it('are one a camera and encoding; frames without a camera join the only one', () => {
    const sizes = (...fakes: FakeFrame[]) => tracksOf(fakes.map(factOf)).map((track) => track.length);
    expect(sizes({}, {}, {})).toEqual([3]);
    expect(sizes({ camera: 'A' }, { camera: 'B' }, { camera: 'A' })).toEqual([2, 1]);
    expect(sizes({ encoding: 'scene' }, {}, {})).toEqual([1, 2]);
    expect(sizes({ camera: 'A' }, { camera: null })).toEqual([2]);
    expect(sizes({ camera: 'A' }, { camera: null }, { camera: 'B' })).toEqual([1, 1, 1]);
    expect(sizes({ camera: null }, { camera: null })).toEqual([2]);
    expect(sizes()).toEqual([]);
    const measurement = fakeMeasurement({ camera: 'Hall' });
    measurement.exposure.cameraSerial = '7';
    expect(cameraOf(measurement)).toBe('Maker Hall 7');
    measurement.exposure.cameraMake = '';
    expect(cameraOf(measurement)).toBe('Hall 7');
  });
});
