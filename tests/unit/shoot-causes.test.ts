import { describe, expect, it } from 'vitest';
import { ShootPlan } from '../../src/contracts/plan.js';
import { ShootReport } from '../../src/contracts/report.js';
import { judgeShoot } from '../../src/shoot/judge.js';
import type { JudgedFrameInput } from '../../src/shoot/input.js';
import { SeededRandom } from '../accuracy/seeded-random.js';
import { simulateShoot } from '../accuracy/shoot-simulator.js';
import { fakeMeasurement, type FakeFrame } from '../support/measurement.js';

const START = 1_780_000_000_000;

/** What each frame differs by from a steady one. */
interface Made extends FakeFrame {
  /** Light on everything. */
  lightStops?: number;
  /** Of the sitter alone. */
  faceOnlyStops?: number;
  person?: boolean;
  who?: number;
}

const SITTERS = [
  { face: 0.9, torso: -2, logRg: 0 },
  { face: 0.2, torso: 0.5, logRg: 0.8 },
  { face: -0.5, torso: 1, logRg: -0.7 },
  { face: -1.1, torso: -1, logRg: 0.4 },
] as const;

/** Frames nine seconds apart, a sitter for nine frames each, with the usual unsteadiness of pose and wall. */
function shootOf(count: number, of: (i: number) => Made, seed = 5): JudgedFrameInput[] {
  const random = new SeededRandom(seed);
  return Array.from({ length: count }, (_, i) => {
    const { lightStops = 0, faceOnlyStops = 0, who, ...fake } = of(i);
    const sitter = SITTERS[(who ?? Math.floor(i / 9)) % SITTERS.length] ?? SITTERS[0];
    const onSubject = lightStops + faceOnlyStops + random.normal(0.05);
    const measurement = fakeMeasurement({
      capturedAtMs: START + i * 9_000,
      faceLevelStops: sitter.face + onSubject,
      torsoLevelStops: sitter.torso + onSubject,
      backgroundLevelStops: -1 + lightStops + random.normal(0.04),
      frameLevelStops: -1.2 + lightStops,
      appearance: { torsoLogRg: sitter.logRg + random.normal(0.02) },
      ...fake,
    });
    return { name: `H${String(i + 1).padStart(4, '0')}.jpg`, measurement, failure: null, measurementHref: null };
  });
}

function judge(frames: JudgedFrameInput[], plan: Parameters<typeof ShootPlan.parse>[0] = { light: 'flash' }) {
  return judgeShoot({ shoot: { id: 'h', name: 'Hall' }, plan: ShootPlan.parse(plan), frames });
}

type Frame = ReturnType<typeof judge>['frames'][number] | undefined;
const codes = (frame: Frame): string[] =>
  (frame?.flags ?? []).filter((flag) => flag.severity !== 'note').map((flag) => flag.code);
const because = (frame: Frame): string => (frame?.flags ?? []).map((flag) => flag.because).join(' ');

describe('light that drifts', () => {
  it('is one set-up with its rate, and frames are corrected back to what was metered for', () => {
    const report = judge(shootOf(80, (i) => ({ lightStops: -0.01 * i })));
    expect(ShootReport.safeParse(report).error).toBeUndefined();
    expect(report.setups).toHaveLength(1);
    const drift = report.setups[0]?.drift;
    expect(drift?.stopsPer100Frames).toBeCloseTo(-1, 0);
    expect(Math.abs((drift?.stopsPer100Frames ?? 0) + 1)).toBeLessThan(3 * (drift?.errorStopsPer100Frames ?? 0) + 0.05);
    expect(drift?.witnesses).toBe('both');
    expect(codes(report.frames[10])).toEqual([]);
    expect(codes(report.frames[75])).toEqual(['light-changed', 'level-off-baseline']);
    expect(report.frames[75]?.toBaselineStops).toBeCloseTo(0.75, 0);
    expect(because(report.frames[75])).toMatch(/drifts through s1 .*stop in 100 frames.*\+2 third-stop steps/);
    expect(report.summary.findings[0]).toMatch(/^s1: The light drifts by −\d\.\d\d stop in 100 frames/);
  });

  it('begins in the middle, near to where it began', () => {
    const report = judge(shootOf(90, (i) => ({ lightStops: i < 40 ? 0 : 0.014 * (i - 40) })));
    expect(report.setups).toHaveLength(1);
    const first = report.frames.findIndex((frame) => frame.name === report.setups[0]?.drift?.firstFrame);
    expect(Math.abs(first - 40)).toBeLessThanOrEqual(20);
    expect(codes(report.frames[20])).toEqual([]);
  });

  it('is told beside a flash that did not fire inside of it', () => {
    const report = judge(shootOf(80, (i) => ({ lightStops: -0.012 * i - (i === 40 ? 3.5 : 0) })));
    expect(report.setups).toHaveLength(1);
    expect(report.setups[0]?.drift).not.toBeNull();
    expect(codes(report.frames[40])).toContain('light-missing');
  });

  it('is no step, no change of sitter, and no framing that moves on', () => {
    const step = judge(shootOf(60, (i) => ({ lightStops: i < 30 ? 0 : -0.6 })));
    expect(step.setups.map((setup) => setup.drift)).toEqual([null, null]);
    const staircase = judge(shootOf(90, (i) => ({ lightStops: -0.45 * Math.floor(i / 30) })));
    expect(staircase.setups.every((setup) => setup.drift === null)).toBe(true);
    const paler = judge(shootOf(36, (i) => ({ who: 3 - Math.floor(i / 9) })));
    expect(paler.setups.map((setup) => setup.drift)).toEqual([null]);
    const closer = judge(
      shootOf(60, (i) => ({
        faceHeightShare: 0.08 * 2 ** (i / 30),
        backgroundLevelStops: -1 + 0.006 * i + 0.02 * Math.sin(i * 7),
      })),
    );
    expect(closer.setups.every((setup) => setup.drift === null)).toBe(true);
  });

  it('is not seen in steady light, whatever the noise', () => {
    for (let seed = 1; seed <= 25; seed++) {
      const report = judge(shootOf(60, () => ({}), seed));
      expect(report.setups.map((setup) => setup.drift)).toEqual([null]);
    }
  });
});

/** Third-stop steps that look like what an automatic does: up and down, no pattern. */
const THIRDS = [0, 2, -1, 1, -2, 0, 3, -1, 0, 1, -3, 2, 0, -1, 1, 0, 2, -2, 0, 1];
const thirdOf = (i: number): number => THIRDS[i % THIRDS.length] ?? 0;

describe('exposure that the camera moves', () => {
  const wandering = (program: string | null) => (i: number) => ({
    lightStops: thirdOf(i) / 3,
    iso: 400 * 2 ** (thirdOf(i) / 3),
    exposureProgram: program,
  });

  it('is told once for the set-up, with spread and advice, and each frame says that the camera chose', () => {
    const report = judge(shootOf(40, wandering('Aperture priority')), { light: 'continuous' });
    expect(report.setups).toHaveLength(1);
    const automation = report.setups[0]?.automation;
    expect(automation).toMatchObject({ program: 'aperture priority', settings: ['ISO'], frames: 40 });
    expect(automation?.rangeStops).toBeCloseTo(2, 3);
    expect(automation?.because).toMatch(/by hand, or lock/);
    expect(codes(report.frames[6])).toEqual(['settings-changed', 'level-off-baseline']);
    expect(because(report.frames[6])).toMatch(/camera chose it/);
    expect(report.summary.findings[0]).toContain('exposure wandered');
  });

  it('is told of an automatic ISO under manual exposure too', () => {
    const report = judge(shootOf(40, wandering('manual')), { light: 'continuous' });
    expect(report.setups[0]?.automation).toMatchObject({ program: null, settings: ['ISO'] });
  });

  it('is no fault where it followed the light, nor where the program held still', () => {
    const followed = judge(
      shootOf(40, (i) => ({ iso: 400 * 2 ** (thirdOf(i) / 3), exposureProgram: 'Aperture priority' })),
      { light: 'continuous' },
    );
    expect(followed.setups.every((setup) => setup.automation === null)).toBe(true);
    expect(followed.summary.off).toBe(0);
    const held = judge(shootOf(40, () => ({ exposureProgram: 'Aperture priority' })));
    expect(held.setups.map((setup) => setup.automation)).toEqual([null]);
  });
});

describe('flash with ambient beside it', () => {
  /** Flash F and ambient A over the time t: log2(F + A t), the shutter a stop slower or faster in some frames. */
  const mixed = (ambientShare: number) => (i: number) => {
    const longer = [12, 13, 25, 26, 41, 52].includes(i) ? 1.5 : [18, 33, 34, 47].includes(i) ? -1 : 0;
    return {
      flashFired: true,
      exposureTimeSeconds: 2 ** (longer - 7),
      lightStops: Math.log2(1 - ambientShare + ambientShare * 2 ** longer),
    };
  };

  it('has its share fitted, the shutter counted for that share, and a warning of two colours', () => {
    const report = judge(shootOf(60, mixed(0.4)), {});
    expect(report.summary.light.kind).toBe('flash');
    expect(report.summary.light.ambientShare).toBeCloseTo(0.4, 1);
    expect(report.summary.light.because).toMatch(/flash fired in 60 of 60 frames.*10[0-9]? ?times|in part/);
    expect(report.summary.cautions.join(' ')).toMatch(/ambient beside the flash.*differ in colour/);
    expect(report.setups).toHaveLength(1);
    expect(codes(report.frames[12])).toEqual(['settings-changed', 'level-off-baseline']);
    expect(report.frames[12]?.deviation.ofWhichLightStops).toBeCloseTo(0, 0);
  });

  it('stays plain flash, or plain continuous light, where the level followed not at all, or in full', () => {
    const flash = judge(shootOf(60, mixed(0)), {});
    expect(flash.summary.light).toMatchObject({ kind: 'flash', shutterWeight: 0, ambientShare: null });
    const continuous = judge(
      shootOf(60, (i) => ({ ...mixed(1)(i), flashFired: null })),
      {},
    );
    expect(continuous.summary.light).toMatchObject({ kind: 'continuous', shutterWeight: 1, ambientShare: null });
  });

  /** The shutter once a stop slower, for two frames. */
  const once = (ambientShare: number) => (i: number) => {
    const longer = i === 12 || i === 13 ? 1 : 0;
    const lightStops = Math.log2(1 - ambientShare + ambientShare * 2 ** longer);
    return { flashFired: true, exposureTimeSeconds: 2 ** (longer - 7), lightStops };
  };

  it('is told by one change of shutter and the change back, and the frame blamed on the shutter', () => {
    const report = judge(shootOf(40, once(0.5)), {});
    expect(report.summary.light.ambientShare).toBeCloseTo(0.5, 0);
    expect(codes(report.frames[12])).toEqual(['settings-changed', 'level-off-baseline']);
  });

  it('is told from shutters that differ from set-up to set-up', () => {
    const two = (i: number): Made => {
      const usual = i < 30 ? 0 : -0.5;
      const longer = usual + (i === 10 || i === 45 ? 1.5 : 0);
      const setup = i < 30 ? {} : { fNumber: 5.6, sideToSideStops: 2.4 };
      return {
        ...setup,
        flashFired: true,
        exposureTimeSeconds: 2 ** (longer - 7),
        lightStops: Math.log2(0.6 + 0.4 * 2 ** longer),
      };
    };
    expect(judge(shootOf(60, two), {}).summary.light.ambientShare).toBeCloseTo(0.4, 1);
  });

  it('is never told from one change of shutter under plain flash, whatever the noise', () => {
    for (let seed = 1; seed <= 25; seed++)
      expect(judge(shootOf(40, once(0), seed), {}).summary.light.ambientShare).toBeNull();
  });

  it('is not made up from changes that do not agree', () => {
    const random = new SeededRandom(3);
    const report = judge(
      shootOf(60, (i) => ({ ...mixed(0)(i), lightStops: i % 9 > 6 ? random.between(-1, 1) : 0 })),
      {},
    );
    expect(report.summary.light.ambientShare).toBeNull();
  });
});

describe('what a sentence says', () => {
  const TOLERANCE = 1 / 3;
  /** Of a third step the last digits are rounded. */
  const ROUNDING = 0.011;

  it.each([101, 202, 303, 404])(
    'never blames less than the tolerance, nor advises no step (simulated shoot %d)',
    (seed) => {
      const { frames } = simulateShoot({ seed, faults: true });
      const report = judge(frames, {});
      const levels = ['level-off-baseline', 'settings-changed', 'light-changed', 'light-missing', 'light-short', 'face-dark', 'face-bright']; // prettier-ignore
      for (const { flags } of report.frames)
        for (const { code, severity, stops, because } of flags) {
          expect(because).not.toMatch(/[+−]0 third/);
          if (severity !== 'note' && levels.includes(code))
            expect(Math.abs(stops ?? Infinity)).toBeGreaterThan(TOLERANCE - ROUNDING);
        }
      for (const finding of report.summary.findings) expect(finding).not.toMatch(/[+−]0 third|\b0\.00 stops/);
    },
  );

  it('tells frames that go both ways from where to where, and no one correction for them', () => {
    const report = judge(
      shootOf(30, (i) => ({ lightStops: i === 12 ? 0.7 : i === 20 ? -0.7 : 0 })),
      { light: 'continuous' },
    );
    expect(report.summary.findings.join(' ')).toMatch(/H0013.*H0021.*−0\.\d\d to \+0\.\d\d stop\./);
    expect(report.summary.findings.join(' ')).not.toMatch(/undo/);
  });

  it('of two frames that differ says that nothing tells which is as meant, unless the flash was silent', () => {
    const report = judge(shootOf(2, (i) => ({ who: 0, lightStops: i === 1 ? -0.8 : 0 })));
    expect(report.setups).toHaveLength(1);
    expect(report.frames.map(({ verdict }) => verdict)).toEqual(['check', 'check']);
    expect(because(report.frames[1])).toMatch(/darker than H0001\.jpg, the only other one of s1: nothing tells/);
    const silent = judge(shootOf(2, (i) => ({ who: 0, lightStops: i === 1 ? -3 : 0 })));
    expect(codes(silent.frames[1])).toContain('light-missing');
    expect(judge(shootOf(2, () => ({ who: 0 }))).summary.consistent).toBe(2);
  });

  it('of a cast says by what to filter, with its sign, and no tint that nobody sees', () => {
    const cast = { wallMired: 220, wallDuv: 0.0002, skinMired: 280, skinDuv: 0.0002 };
    const usual = { wallMired: 180, wallDuv: 0, skinMired: 240, skinDuv: 0 };
    const report = judge(shootOf(30, (i) => (i === 14 ? cast : usual)));
    expect(codes(report.frames[14])).toEqual(['cast-shifted']);
    expect(because(report.frames[14])).toMatch(/40 mired warmer than .*looked at from 15 mired\): filter by −40 mired/);
  });

  it('of a setting a third of a stop off the plan, at a tolerance of a third, is worth a look only', () => {
    const plan = { light: 'flash', target: { fNumber: 8, iso: 100 } } as const;
    for (const iso of [80, 125]) {
      const off =
        judge(
          shootOf(12, () => ({ fNumber: 8, iso })),
          plan,
        ).frames[3]?.flags ?? [];
      expect(off.find(({ code }) => code === 'settings-off-plan')?.severity).toBe('check');
    }
  });

  it('of a setting that the light made up for is no fault', () => {
    const report = judge(shootOf(30, (i) => (i === 14 ? { iso: 160, lightStops: 0.02 } : {})));
    expect(report.frames[14]?.verdict).toBe('consistent');
    expect(because(report.frames[14])).toMatch(/ISO is 160.*to match: nothing to do/);
  });

  it('advises stops where a step of the dial is too coarse', () => {
    const report = judge(
      shootOf(30, (i) => ({ lightStops: i === 14 ? 0.14 : 0 })),
      { light: 'continuous', toleranceStops: 0.1 },
    );
    expect(because(report.frames[14])).toMatch(/−0\.1\d stop \(under half a third-stop step\) undoes it/);
  });
});

describe('the sitter against the light', () => {
  const one = (i: number, odd: Made): Made => ({ who: 0, ...([12, 13].includes(i) ? odd : {}) });

  it('came nearer where the head grew as the inverse square says', () => {
    const report = judge(shootOf(26, (i) => one(i, { faceOnlyStops: 0.8, faceHeightShare: 0.12 * 2 ** 0.4 })));
    expect(codes(report.frames[12])).toEqual(['face-bright', 'level-off-baseline']);
    expect(because(report.frames[12])).toMatch(/1\.32 times as large.*nearer to the light.*\+0\.80 stop/);
    const away = judge(shootOf(26, (i) => one(i, { faceOnlyStops: -0.8, faceHeightShare: 0.12 * 2 ** -0.4 })));
    expect(because(away.frames[12])).toMatch(/0\.76 times as large.*further from the light.*−0\.80 stop/);
  });

  it('turned, or the light moved, where the head stayed as large', () => {
    const report = judge(shootOf(26, (i) => one(i, { faceOnlyStops: -0.8 })));
    expect(codes(report.frames[12])).toEqual(['face-dark', 'level-off-baseline']);
    expect(because(report.frames[12])).toMatch(/as large as in the frames around.*turned/);
  });

  it('is no fault where only the framing or the clothes changed', () => {
    const framed = judge(shootOf(30, (i) => one(i, { faceHeightShare: 0.3, frameLevelStops: 0.6 })));
    expect(framed.summary.consistent).toBe(30);
    const coat = judge(shootOf(30, (i) => one(i, { torsoLevelStops: -4, bodyLevelStops: -3, frameLevelStops: -2.5 })));
    expect(coat.summary.consistent).toBe(30);
  });

  it('is somebody else, and no fault, where a look-alike with other skin stands between', () => {
    const between = judge(shootOf(40, (i) => ({ who: 0, faceOnlyStops: Math.floor(i / 2) % 2 === 0 ? 0 : -0.9 })));
    expect(between.summary.consistent).toBe(40);
  });
});
