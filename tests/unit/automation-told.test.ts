import { describe, expect, it } from 'vitest';
import { automationOf } from '../../src/shoot/automation.js';
import { lightOf } from '../support/frame-context.js';
import type { FakeFrame } from '../support/measurement.js';
import { trackOf } from '../support/track.js';

describe('exposure that the camera set anew', () => {
  interface Told {
    count?: number;
    settings?: (i: number) => number;
    light?: (i: number) => number | null;
    automatic?: (i: number) => boolean;
    fake?: (i: number) => FakeFrame;
  }
  const wander = (i: number) => [0, 0.36, -0.36, 0.2][i % 4]!;
  const told = ({
    count = 12,
    settings = wander,
    light = () => 0,
    automatic = () => true,
    fake = () => ({}),
  }: Told = {}) =>
    automationOf(
      trackOf(count, (i) => ({ settingsStops: settings(i), automatic: automatic(i) }), fake),
      Array.from({ length: count }, (_, i) => lightOf({ settingsStops: settings(i), lightStops: light(i) })),
    );

  it('under steady light is told, with how far it wandered', () => {
    const fake = (i: number): FakeFrame => ({ iso: [100, 125, 80, 100][i % 4]!, exposureProgram: 'aperture-priority' });
    expect(told({ fake })).toMatchObject({
      frames: 12,
      settings: ['ISO'],
      program: 'aperture-priority',
      rangeStops: 0.72,
      lightSpreadStops: 0,
    });
    expect(told({ fake })!.because).toBe(
      "The camera set the ISO anew from frame to frame (aperture-priority) though the light stood: exposure wandered by −0.46 to +0.26 stops (spread 0.27 stops, the light's 0.00). Set exposure by hand, or lock it after metering.",
    );
    const more = (i: number): FakeFrame => ({
      iso: [100, 125][i % 2]!,
      fNumber: [8, 9][i % 2]!,
      exposureTimeSeconds: [1 / 125, 1 / 160][i % 2]!,
    });
    const two = told({ fake: more })!;
    expect([two.settings, two.program]).toEqual([['aperture', 'shutter', 'ISO'], null]);
    expect(two.because).toMatch(
      /^The camera set aperture, shutter and ISO anew from frame to frame \(automatic exposure\)/,
    );
    expect(told()!.because).toMatch(/^The camera set exposure anew/);
  });

  it('takes six frames, more than half of them automatic', () => {
    expect([told({ count: 6 }) !== null, told({ count: 5 })]).toEqual([true, null]);
    expect(told({ automatic: (i) => i < 6 })).toBeNull();
    expect(told({ automatic: (i) => i < 7 })!.frames).toBe(7);
  });

  it('takes a range of a third of a stop in three values and more, changed in a quarter of the frames', () => {
    expect(told({ settings: (i) => [0, 0.15, -0.15, 0.08][i % 4]! })).toBeNull();
    expect(told({ settings: (i) => [0, 1][i % 2]! })).toBeNull();
    expect(told({ settings: (i) => Math.floor(i / 6) + (i % 6 === 0 ? 0.3 : 0) })).not.toBeNull();
    expect(told({ count: 40, settings: (i) => Math.floor(i / 14) })).toBeNull();
    // Two odd frames are no spread.
    expect(told({ settings: (i) => (i === 3 ? 1 : i === 7 ? -1 : 0) })).toBeNull();
  });

  it('is none where it followed the light, or the light moved by itself', () => {
    expect(told({ light: (i) => -wander(i) })).toBeNull();
    expect(told({ light: (i) => 2 * wander(i + 1) })).toBeNull();
    expect(told({ light: (i) => 0.05 * Math.sin(3 * i) })).not.toBeNull();
    expect(told({ light: () => null })).toBeNull();
    // Half of it followed the light, so that the level did less than half of what the settings did; or only a little.
    expect(told({ light: (i) => -0.55 * wander(i) })).toBeNull();
    expect(told({ light: (i) => -0.45 * wander(i) })).not.toBeNull();
    // Steady is what scatters by three fifths of the exposure, too.
    expect(told({ light: (i) => 0.55 * wander(i) })).not.toBeNull();
    expect(told({ light: (i) => 0.65 * wander(i) })).toBeNull();
    expect(told({ settings: (i) => [0, 0.5, -0.5][i % 3]! })).not.toBeNull();
  });

  it('names the program that most frames name, the first by name of equals', () => {
    const program = (of: (i: number) => string | null) => told({ fake: (i) => ({ exposureProgram: of(i) }) })!.program;
    expect(program((i) => (i < 5 ? 'Aperture-priority' : 'Program'))).toBe('program');
    expect(program((i) => (i % 2 === 0 ? 'Program' : 'Aperture-priority'))).toBe('aperture-priority');
    expect(program(() => 'manual')).toBeNull();
    expect(program(() => null)).toBeNull();
  });
});
