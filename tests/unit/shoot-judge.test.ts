import { describe, expect, it } from 'vitest';
import { FrameMeasurement } from '../../src/contracts/measurement.js';
import { ShootPlan } from '../../src/contracts/plan.js';
import { ShootReport } from '../../src/contracts/report.js';
import { judgeShoot } from '../../src/shoot/judge.js';
import type { JudgedFrameInput } from '../../src/shoot/input.js';
import { fakeMeasurement, type FakeFrame } from '../support/measurement.js';

const START = 1_780_000_000_000;

/** Frames ten seconds apart, F001 …; small fixed unsteadiness so that nothing is exactly equal. */
function shootOf(fakes: FakeFrame[]): JudgedFrameInput[] {
  return fakes.map((fake, i) => ({
    name: `F${String(i + 1).padStart(3, '0')}.jpg`,
    measurement: fakeMeasurement({ capturedAtMs: START + i * 10_000, ...unsteady(fake, i) }),
    failure: null,
    measurementHref: null,
  }));
}

function unsteady(fake: FakeFrame, i: number): FakeFrame {
  const shake = (Math.sin(i * 12.9) * 43758.5) % 0.04;
  return {
    ...fake,
    faceLevelStops: fake.faceLevelStops === null ? null : (fake.faceLevelStops ?? 0.5) + shake,
    backgroundLevelStops: fake.backgroundLevelStops === null ? null : (fake.backgroundLevelStops ?? -1) - shake,
  };
}

const times = (count: number, fake: FakeFrame = {}): FakeFrame[] => Array.from({ length: count }, () => fake);
/** The whole picture brighter by so much. */
const lit = (stops: number, fake: FakeFrame = {}): FakeFrame => ({
  ...fake,
  faceLevelStops: (fake.faceLevelStops ?? 0.5) + stops,
  torsoLevelStops: (fake.torsoLevelStops ?? -0.5) + stops,
  backgroundLevelStops: (fake.backgroundLevelStops ?? -1) + stops,
  frameLevelStops: -1.2 + stops,
});

function judge(fakes: FakeFrame[], plan: Parameters<typeof ShootPlan.parse>[0] = { light: 'flash' }) {
  return judgeShoot({ shoot: { id: 'x', name: 'Hall' }, plan: ShootPlan.parse(plan), frames: shootOf(fakes) });
}

const codes = (report: ReturnType<typeof judge>, index: number): string[] =>
  (report.frames[index]?.flags ?? []).filter((flag) => flag.severity !== 'note').map((flag) => flag.code);

describe('judgeShoot', () => {
  it('takes schema-valid measurements and gives a schema-valid report', () => {
    expect(FrameMeasurement.safeParse(fakeMeasurement()).error).toBeUndefined();
    const report = judge(times(10));
    expect(ShootReport.safeParse(report).error).toBeUndefined();
    expect(report.setups).toHaveLength(1);
    expect(report.summary.consistent).toBe(10);
  });

  it('names a flash that did not fire, and the other frames stay consistent', () => {
    const report = judge([...times(6), lit(-4), ...times(6)]);
    expect(report.setups).toHaveLength(1);
    expect(codes(report, 6)).toEqual(['light-missing', 'level-off-baseline']);
    expect(report.frames[6]?.toBaselineStops).toBeCloseTo(4, 1);
    expect(report.summary.consistent).toBe(12);
  });

  it('names ISO knocked by a stop for three frames and back', () => {
    const report = judge([...times(6), ...times(3, lit(1, { iso: 200 })), ...times(6)]);
    expect(report.setups).toHaveLength(1);
    for (const i of [6, 7, 8]) {
      expect(codes(report, i)).toEqual(['settings-changed', 'level-off-baseline']);
      expect(report.frames[i]?.deviation.ofWhichSettingsStops).toBeCloseTo(1, 3);
    }
    expect(report.summary.off).toBe(3);
  });

  it('finds nothing wrong with an aperture opened and the lamp turned down to match', () => {
    const report = judge([...times(6), ...times(4, { fNumber: 5.6 }), ...times(6)]);
    expect(report.summary.consistent).toBe(16);
  });

  it('never calls another skin a fault', () => {
    const report = judge([...times(5), ...times(5, { faceLevelStops: -1.2 }), ...times(5, { faceLevelStops: 1.1 })]);
    expect(report.setups).toHaveLength(1);
    expect(report.summary.consistent).toBe(15);
  });

  it('names a light that was turned down and not metered again, keeps the level metered for, and knows it when it is back', () => {
    const report = judge([...times(10), ...times(10, lit(-0.8)), ...times(10)]);
    expect(report.setups.map((setup) => setup.frames.length)).toEqual([10, 10, 10]);
    expect(codes(report, 15)).toEqual(['level-off-baseline', 'light-changed']);
    expect(report.frames[15]?.deviation.fromSetupStops).toBeCloseTo(-0.8, 1);
    expect(report.setups[1]?.baseline.subjectLevelStops).toBeCloseTo(
      report.setups[0]?.baseline.subjectLevelStops ?? NaN,
      1,
    );
    expect(report.setups[1]?.changeFromPrevious?.lightThirdStopSteps).toBe(2);
    expect(report.setups[2]?.description).toContain('as s1 again');
    expect(codes(report, 25)).toEqual([]);
    expect(report.summary.cautions.length).toBeGreaterThan(0);
  });

  it('takes a metered change of light for a new set-up without fault', () => {
    const report = judge([...times(10), ...times(10, { fNumber: 4, sideToSideStops: 2.5 })]);
    expect(report.setups).toHaveLength(2);
    expect(report.setups[1]?.changeFromPrevious?.lightStops).toBeCloseTo(-2, 1);
    expect(report.summary.consistent).toBe(20);
  });

  it('calls a dip right after the frame before a short charge', () => {
    const frames = shootOf([...times(6), lit(-0.7), ...times(6)]);
    const early = frames[6]?.measurement?.exposure.capturedAt;
    if (early !== null && early !== undefined) early.epochMs -= 9_000;
    const report = judgeShoot({ shoot: { id: 'x', name: 'x' }, plan: ShootPlan.parse({ light: 'flash' }), frames });
    expect(codes(report, 6)).toEqual(['light-short', 'level-off-baseline']);
  });

  it('decides for flash where the shutter changed and the level did not, and for continuous where it followed', () => {
    const slower = { exposureTimeSeconds: 1 / 60 };
    const flash = judge([...times(8), ...times(8, slower)], {});
    expect(flash.summary.light).toMatchObject({ kind: 'flash', shutterWeight: 0 });
    expect(flash.summary.consistent).toBe(16);
    const continuous = judge([...times(8), ...times(3, lit(1, slower)), ...times(8)], {});
    expect(continuous.summary.light).toMatchObject({ kind: 'continuous', shutterWeight: 1 });
    expect(codes(continuous, 9)).toEqual(['settings-changed', 'level-off-baseline']);
  });

  it('names a colour that shifted on wall and skin alike, and not one that only the wall shows', () => {
    const warm = { wallMired: 240, skinMired: 300 };
    expect(codes(judge([...times(6), warm, ...times(6)]), 6)).toEqual(['cast-shifted']);
    expect(codes(judge([...times(6), { wallMired: 240 }, ...times(6)]), 6)).toEqual([]);
  });

  it('says who moved: the background alone, or the sitter alone', () => {
    expect(codes(judge([...times(6), { backgroundLevelStops: -2.5 }, ...times(6)]), 6)).toEqual(['background-shifted']);
    const nearer = { faceLevelStops: 1.3, torsoLevelStops: 0.3 };
    expect(codes(judge([...times(6), nearer, ...times(6)]), 6)).toEqual(['face-bright', 'level-off-baseline']);
  });

  it('flags legs by skin beyond tolerance and uncertainty, never by cloth alone, and lifts them to within tolerance', () => {
    const legs = (levelStops: number, basis: 'skin' | 'clothing', light: number | null): FakeFrame => ({
      lowerBody: { levelStops, basis, faceToLowerBodyLightStops: light, uncertaintyStops: 0.3 },
    });
    const report = judge([...times(4), legs(-1, 'skin', 1.5), legs(0.1, 'skin', 0.4), legs(-3, 'clothing', null)]);
    expect(codes(report, 4)).toEqual(['lower-body-dark']);
    expect(codes(report, 5)).toEqual([]);
    expect(codes(report, 6)).toEqual([]);
    const [lift] = report.frames[4]?.lifts ?? [];
    expect(lift).toMatchObject({ region: 'lower-body', limitedBy: null });
    expect(lift?.stops).toBeCloseTo(1.5 - (1 / 3 - 0.1), 3);
  });

  describe('legs in trousers', () => {
    const trousers = (levelStops: number): FakeFrame => ({
      lowerBody: { levelStops, basis: 'clothing', faceToLowerBodyLightStops: null, uncertaintyStops: 0.3 },
    });
    const lit = times(3, trousers(-1));
    const otherLook: FakeFrame = { appearance: { torsoLogRg: 0.2, torsoLogBg: 0.2 } };

    it('are dark against the same trousers lit, also where those are seen on one side only', () => {
      const last = judge([...lit, ...times(2), trousers(-2.4)]);
      expect(codes(last, 5)).toEqual(['lower-body-dark']);
      expect(last.frames[5]?.flags[0]).toMatchObject({ severity: 'check', region: 'lower-body' });
      expect(last.frames[5]?.flags[0]?.stops).toBeCloseTo(1.4, 1);
    });

    it('are as ever where one other frame alone shows them lit, or where more show them dark', () => {
      expect(codes(judge([trousers(-1), ...times(4), trousers(-2.4)]), 5)).toEqual([]);
      const mostlyDark = judge([trousers(-1), trousers(-1), ...times(4, trousers(-2.4))]);
      expect([2, 3, 4, 5].flatMap((i) => codes(mostlyDark, i))).toEqual([]);
    });

    it('are somebody else’s where the coat is another', () => {
      const other = times(4, otherLook).map((fake, i) => (i === 2 ? { ...fake, ...trousers(-2.4) } : fake));
      expect(codes(judge([...lit, ...other]), 5)).toEqual([]);
    });
  });

  it('holds a lift back by clipping and by noise, and says which', () => {
    const legs = {
      lowerBody: { levelStops: 1.4, basis: 'skin', faceToLowerBodyLightStops: 2, uncertaintyStops: 0.3 },
    } as const;
    expect(judge([...times(4), legs]).frames[4]?.lifts[0]?.limitedBy).toBe('clipping');
    const dark = { lowerBody: { ...legs.lowerBody, levelStops: -3 } };
    const noisy = times(5, { iso: 6400 }).map((fake, i) => (i === 4 ? { ...fake, ...dark } : fake));
    expect(judge(noisy).frames[4]?.lifts[0]?.limitedBy).toBe('noise');
  });

  it('compares with the plan and with a reference frame', () => {
    const plan = {
      light: 'flash',
      target: { fNumber: 11, exposureTimeSeconds: 1 / 60, iso: 100 },
      referenceFrame: 'F002.jpg',
    } as const;
    const report = judge([...times(4, { fNumber: 11 }), lit(1, { fNumber: 8 }), ...times(4, { fNumber: 11 })], plan);
    expect(report.frames[0]?.deviation.fromPlanStops).toBeCloseTo(0, 3);
    expect(report.frames[4]?.deviation.fromPlanStops).toBeCloseTo(1, 3);
    expect(codes(report, 4)).toContain('settings-off-plan');
    expect(report.frames[4]?.deviation.fromReferenceStops).toBeCloseTo(1, 1);
    expect(() => judge(times(2), { referenceFrame: 'nowhere.jpg' })).toThrow(/nowhere\.jpg/);
  });

  it('keeps a frame that could not be read, with its reason', () => {
    const frames = shootOf(times(3));
    const failed: JudgedFrameInput = {
      name: 'F999.jpg',
      measurement: null,
      failure: { code: 'frame-truncated', message: 'The image data ends early' },
      measurementHref: null,
    };
    const report = judgeShoot({
      shoot: { id: 'x', name: 'x' },
      plan: ShootPlan.parse({}),
      frames: [failed, ...frames],
    });
    expect(report.frames.at(-1)).toMatchObject({ name: 'F999.jpg', verdict: 'unreadable', setup: null });
    expect(report.frames.at(-1)?.flags[0]?.because).toContain('ends early');
  });

  it('never compares raw with rendered frames, nor one camera with another', () => {
    const report = judge([
      ...times(4),
      ...times(4, lit(-1, { encoding: 'scene' })),
      ...times(4, lit(1, { camera: 'Other' })),
    ]);
    expect(report.setups).toHaveLength(3);
    expect(report.summary.consistent).toBe(12);
  });

  it('judges finished exports, which have no settings, by what they show', () => {
    const bare = { fNumber: null, exposureTimeSeconds: null, iso: null };
    const report = judge([...times(6, bare), lit(-1, bare), ...times(6, bare)]);
    expect(codes(report, 6)).toContain('level-off-baseline');
    expect(report.frames[6]?.deviation).toMatchObject({ ofWhichSettingsStops: null, ofWhichLightStops: null });
  });

  it('tells no sitters apart when asked not to', () => {
    const report = judge([...times(6), lit(-1), ...times(6)], { light: 'flash', compareSitters: false });
    expect(report.setups[0]?.sitters).toEqual([]);
    expect(codes(report, 6)).toContain('level-off-baseline');
  });

  it('widens what counts as a fault with the uncertainty of the tone response', () => {
    const verdictWith = (uncertaintyStops: number) => {
      const frames = [...times(8), lit(-0.45), ...times(8)].map((fake) => ({
        ...fake,
        toneResponse: { uncertaintyStops },
      }));
      return judge(frames).frames[8]?.verdict;
    };
    expect(verdictWith(0)).toBe('off');
    expect(verdictWith(0.4)).toBe('check');
  });

  it('tells when frames were measured with different versions of a library, and not of Node', () => {
    const withVersions = (versions: [Record<string, string>, Record<string, string>]) => {
      const frames = shootOf(times(12)).map((frame, index) => ({
        ...frame,
        measurement: frame.measurement && { ...frame.measurement, measuredWith: versions[index < 6 ? 0 : 1] },
      }));
      return judgeShoot({ shoot: { id: 'x', name: 'Hall' }, plan: ShootPlan.parse({ light: 'flash' }), frames });
    };
    const mixed = withVersions([
      { sharp: '0.35.5', node: '20.1.0' },
      { sharp: '0.35.6', node: '20.2.0' },
    ]);
    expect(mixed.summary.cautions[0]).toMatch(/\(sharp 0\.35\.5 and 0\.35\.6\)/);
    const same = withVersions([
      { sharp: '0.35.5', node: '20.1.0' },
      { sharp: '0.35.5', node: '20.2.0' },
    ]);
    expect(same.summary.cautions.join()).not.toContain('library');
  });

  it('tells when frames were measured by different measuring versions, first of all cautions', () => {
    const mixed = judge([...times(6, { measuringVersion: '1' }), ...times(6, { measuringVersion: '2' })]);
    expect(mixed.shoot.measuringVersions).toEqual(['1', '2']);
    expect(mixed.summary.cautions[0]).toMatch(/measuring versions 1 and 2/);
    expect(judge(times(12)).summary.cautions.join()).not.toContain('measuring versions');
  });
});
