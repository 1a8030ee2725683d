import { describe, expect, it } from 'vitest';
import { ShootPlan } from '../../src/contracts/plan.js';
import type { ReportFrame } from '../../src/contracts/report.js';
import type { JudgedFrameInput } from '../../src/shoot/input.js';
import { judgeShoot } from '../../src/shoot/judge.js';
import { SeededRandom } from '../accuracy/seeded-random.js';
import { fakeMeasurement } from '../support/measurement.js';

/** What one frame has: its sitter, light on everything, light on the wall alone. */
interface Made {
  who: number;
  lightStops?: number;
  wallStops?: number;
  /** The level that the file tells of a wall this dark. */
  wallLevelStops?: number;
  nobodyFound?: boolean;
  flashFired?: boolean | null;
}

const SITTERS = [
  { face: 0.9, torso: -2, logRg: 0 },
  { face: 0.2, torso: 0.5, logRg: 0.8 },
  { face: -0.5, torso: 1, logRg: -0.7 },
  { face: -1.1, torso: -1, logRg: 0.4 },
] as const;

function judge(made: readonly Made[], light: 'flash' | undefined = 'flash'): ReportFrame[] {
  const random = new SeededRandom(11);
  const frames = made.map((frame, i): JudgedFrameInput => {
    const sitter = SITTERS[frame.who] as (typeof SITTERS)[number];
    const { lightStops = 0, wallStops = 0 } = frame;
    const onSubject = lightStops + random.normal(0.05);
    const wall = frame.wallLevelStops ?? -1 + lightStops + wallStops + random.normal(0.04);
    const measurement = fakeMeasurement({
      capturedAtMs: 1_780_000_000_000 + i * 9_000,
      person: frame.nobodyFound !== true,
      faceLevelStops: sitter.face + onSubject,
      torsoLevelStops: sitter.torso + onSubject,
      backgroundLevelStops: frame.nobodyFound === true ? null : wall,
      frameLevelStops: -1.2 + lightStops,
      appearance: { torsoLogRg: sitter.logRg + random.normal(0.02) },
      flashFired: frame.flashFired ?? null,
    });
    return { name: `W${i + 1}.jpg`, measurement, failure: null, measurementHref: null };
  });
  const plan = ShootPlan.parse(light === undefined ? {} : { light });
  return judgeShoot({ shoot: { id: 'w', name: 'Wall' }, plan, frames }).frames;
}

const faults = (frame: ReportFrame | undefined): string[] =>
  (frame?.flags ?? []).filter((flag) => flag.severity !== 'note').map((flag) => flag.code);

/** Sitters with so many frames each, one after the other, long enough for a set-up. */
const inTurn = (each: number, sitters: number): Made[] =>
  Array.from({ length: each * sitters }, (_, i) => ({ who: Math.floor(i / each) % SITTERS.length }));

describe('the wall’s light goes out behind a steady face', () => {
  for (const each of [2, 3, 4])
    it(`is told of the background, not of the flash, where a sitter has ${each} frames`, () => {
      const made = inTurn(each, 6);
      const out = each * 3 - 1;
      made[out] = { ...(made[out] as Made), wallStops: -2.2 };
      const frames = judge(made);
      expect(faults(frames[out])).toEqual(['background-shifted']);
      expect(frames.filter((frame, i) => i !== out && faults(frame).length > 0)).toEqual([]);
    });

  it('is told of each of three frames in a row, whoever stands there', () => {
    const made = inTurn(5, 4);
    for (const i of [6, 7, 8]) made[i] = { ...(made[i] as Made), wallStops: -1.4 };
    const frames = judge(made);
    for (const i of [6, 7, 8]) expect(faults(frames[i])).toEqual(['background-shifted']);
  });

  it('is a silent flash where the face falls as well', () => {
    const made = inTurn(3, 6);
    made[7] = { ...(made[7] as Made), lightStops: -2.2 };
    expect(faults(judge(made)[7])).toContain('light-missing');
  });
});

describe('a frame so dark that the wall cannot be read', () => {
  it('is a silent flash, also of a sitter with no other frame', () => {
    const made = inTurn(4, 5);
    made.splice(8, 0, { who: 3, lightStops: -5.5, wallLevelStops: -7 });
    const frames = judge(made);
    expect(faults(frames[8])).toEqual(['light-missing', 'level-off-baseline']);
    expect(frames[8]?.deviation.ofWhichLightStops).toBeLessThan(-4);
  });

  it('tells that there was a flash at all, where neither plan nor file says so', () => {
    const made = inTurn(4, 5);
    made[9] = { ...(made[9] as Made), lightStops: -5.5, wallLevelStops: -7 };
    expect(faults(judge(made, undefined)[9])).toContain('light-missing');
    made[9] = { ...made[9], lightStops: -5.5, nobodyFound: true };
    expect(faults(judge(made, undefined)[9])).toContain('light-missing');
  });

  it('is nothing where the wall is as dark in every frame', () => {
    const made = inTurn(4, 5).map((frame) => ({ ...frame, wallLevelStops: -7 }));
    expect(judge(made).filter((frame) => faults(frame).length > 0)).toEqual([]);
  });
});
