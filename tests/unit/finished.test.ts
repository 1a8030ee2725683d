import { describe, expect, it } from 'vitest';
import { codesOf, judgeFakes, lit, times } from '../support/fake-shoot.js';

const CAUSES = [
  'settings-changed',
  'settings-off-plan',
  'light-changed',
  'light-missing',
  'light-short',
  'no-exposure-data',
];

describe('finished exports', () => {
  it('are judged by what they show: other settings in the file mean nothing, an odd frame shows', () => {
    const frames = [...times(6), ...times(3, { iso: 400 }), lit(-1), ...times(6, { camera: null })];
    const report = judgeFakes(frames, { light: 'flash', finished: true, target: { iso: 100 } });
    expect(report.setups).toHaveLength(1);
    for (const i of [6, 7, 8, 12]) expect(codesOf(report, i)).toEqual([]);
    expect(codesOf(report, 9)).toEqual(['level-off-baseline']);
    expect(report.frames[9]?.deviation).toMatchObject({
      ofWhichSettingsStops: null,
      ofWhichLightStops: null,
      fromPlanStops: null,
    });
    for (const { flags, exposure } of report.frames) {
      for (const code of CAUSES) expect(flags.map((flag) => flag.code)).not.toContain(code);
      expect(exposure?.iso).toBeNull();
    }
    expect(report.summary.notes[0]).toMatch(/^Finished exports/);
    expect(report.frames[9]?.flags[0]?.because).not.toMatch(/settings|light/);
  });

  it('find set-ups by their looks, without settings', () => {
    const bare = { fNumber: null, exposureTimeSeconds: null, iso: null, camera: null };
    const report = judgeFakes([...times(10, bare), ...times(10, { ...bare, ...lit(-2), sideToSideStops: 2.8 })], {
      finished: true,
    });
    expect(report.setups.map((setup) => setup.frames.length)).toEqual([10, 10]);
  });

  it('are not held against readings', () => {
    const report = judgeFakes(times(6), {
      light: 'flash',
      finished: true,
      setups: [{ name: 'front', reading: { fNumber: 16, iso: 100 } }],
    });
    expect(report.planCompliance[0]).toMatchObject({ verdict: 'cannot-tell', settings: null });
    expect(report.planCompliance[0]?.because[0]).toContain('finished exports');
  });
});
