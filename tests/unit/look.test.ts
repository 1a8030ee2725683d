import { describe, expect, it } from 'vitest';
import { SavedLook } from '../../src/contracts/look.js';
import { ShootReport } from '../../src/contracts/report.js';
import { lookOf } from '../../src/shoot/look/save-look.js';
import { codesOf, judgeFakes, lit, times } from '../support/fake-shoot.js';

const saved = () => lookOf(judgeFakes(times(12)), 'hall');
const held = (fakes: Parameters<typeof judgeFakes>[0]) => {
  const report = judgeFakes(fakes, { light: 'flash', look: saved() });
  expect(ShootReport.safeParse(report).error).toBeUndefined();
  return { report, look: report.setups[0]?.look };
};

describe('a saved look', () => {
  it('is the set-up with the most frames, or the one named, and holds no frame name', () => {
    const report = judgeFakes([...times(10), ...times(6, { fNumber: 4, sideToSideStops: 2.5 })]);
    const look = lookOf(report, 'hall');
    expect(SavedLook.safeParse(look).error).toBeUndefined();
    expect(look).toMatchObject({ frames: 10, light: 'flash', settings: { fNumber: 8 } });
    expect(lookOf(report, 'hall', 's2').figures.sideToSide?.medianStops).toBeCloseTo(2.5, 3);
    expect(() => lookOf(report, 'hall', 's9')).toThrow(/s1, s2.*"s9"/);
    expect(JSON.stringify(look)).not.toContain('.jpg');
    expect(look.toneResponses).toEqual([{ source: 'assumed', frames: 10, uncertaintyStops: 0.1 }]);
  });

  it('cannot be made of nothing', () => {
    expect(() => lookOf(judgeFakes([]), 'hall')).toThrow(/no frame could be measured/);
  });
});

describe('a shoot held against a look', () => {
  it('of the same light is within it', () => {
    const { report, look } = held(times(12));
    expect(look?.verdict).toBe('within');
    expect(look?.because).toEqual(['as the look "hall" in all that both show.']);
    expect(report.summary.notes[0]).toContain('s1: as the look');
  });

  it('a stop darker on sitter and wall is off, with the clicks that restore it and cautions', () => {
    const { report, look } = held(times(12, lit(-1)));
    expect(look).toMatchObject({ verdict: 'off', lightThirdStopSteps: 3, level: { verdict: 'off' } });
    expect(look?.level?.differenceStops).toBeCloseTo(-1, 1);
    expect(look?.background?.verdict).toBe('within');
    expect(report.summary.cautions.length).toBeGreaterThan(0);
    expect(codesOf(report, 0)).toEqual([]);
  });

  it('never calls deeper or paler skin before the same wall off', () => {
    for (const faceLevelStops of [-0.7, 1.5]) {
      const { look } = held(times(12, { faceLevelStops, torsoLevelStops: faceLevelStops - 1 }));
      expect(look?.level?.verdict).not.toBe('off');
      expect(look?.background?.verdict).not.toBe('off');
    }
  });

  it('tells contrast, background light, fall-off and cast apart', () => {
    expect(held(times(12, { sideToSideStops: 3 })).look?.contrast).toMatchObject({
      verdict: 'off',
      differenceStops: 2,
    });
    const dark = held(times(12, { backgroundLevelStops: -3.4 })).look;
    expect(dark?.background?.verdict).toBe('off');
    expect(dark?.backgroundThirdStopSteps).toBeGreaterThanOrEqual(6);
    const warm = held(times(12, { wallMired: 220 })).look;
    expect(warm).toMatchObject({ cast: { verdict: 'off', differenceMired: 40 }, correctionMired: -40 });
    expect(warm?.because.join()).toContain('correct by −40 mired');
  });

  it('compares nothing where nothing shows on both sides', () => {
    const { look } = held(times(6, { person: false, backgroundLevelStops: null, wallMired: null }));
    expect(look?.level).toBeNull();
    expect(look?.contrast).toBeNull();
  });
});
