import { describe, expect, it } from 'vitest';
import { ShootPlan } from '../../src/contracts/plan.js';
import type { ShootReport } from '../../src/contracts/report.js';
import { judgeShoot } from '../../src/shoot/judge.js';
import { SeededRandom } from '../accuracy/seeded-random.js';
import { fakeMeasurement, type FakeFrame } from '../support/measurement.js';

/*
 * A light that is raised, lowered or drawn in at the same level and the same contrast on the face: only its fall down the
 * body and its relation to the background tell.
 */
const SITTERS = [
  { face: 0.9, torso: -2, logRg: 0, leg: 0.1, legs: 'skin' },
  { face: 0.2, torso: 0.5, logRg: 0.8, leg: -0.15, legs: 'mixed' },
  { face: -0.5, torso: 1, logRg: -0.7, leg: 0.25, legs: 'skin' },
  { face: -1.1, torso: -1, logRg: 0.4, leg: -0.2, legs: 'clothing' },
] as const;
/** Clothes from head to feet, against the face, of each sitter. */
const CLOTHES = [
  [0, 0.3, -1.5, -2, -2, -1.8, -0.5, -0.4, -0.3, -0.4],
  [0, 0.2, 0.8, 0.6, 0.4, -1, -1.2, -1.1, -0.5, -0.4],
  [0, 0.4, 1, 1.2, 1, 0.2, 0.3, 0.1, 0, 0.1],
  [0, 0.1, -1, -1.1, -2.5, -2.6, -2.4, -2.2, -2, -1.5],
] as const;

interface Made {
  who: number;
  /** Light on the legs under that on the face. */
  fallStops?: number;
  wallStops?: number;
  legs?: 'skin' | 'mixed' | 'clothing' | 'none';
  withProfile?: boolean;
}

function judge(count: number, of: (i: number) => Made, seed = 3): ShootReport {
  const random = new SeededRandom(seed);
  const frames = Array.from({ length: count }, (_, i) => {
    const { who, fallStops = 0, wallStops = 0, legs, withProfile = false } = of(i);
    const sitter = SITTERS[who] as (typeof SITTERS)[number];
    const shown = legs ?? sitter.legs;
    const face = sitter.face + random.normal(0.05);
    const fall = fallStops - sitter.leg + random.normal(0.06);
    const cloth = CLOTHES[who] as readonly number[];
    const fake: FakeFrame = {
      capturedAtMs: 1_780_000_000_000 + i * 9_000,
      faceLevelStops: face,
      torsoLevelStops: sitter.torso + face - sitter.face,
      backgroundLevelStops: -1 + wallStops + random.normal(0.04),
      sideToSideStops: 1 + random.normal(0.1),
      appearance: { torsoLogRg: sitter.logRg + random.normal(0.02) },
      lowerBody:
        shown === 'none'
          ? null
          : {
              levelStops: face - fall,
              basis: shown,
              faceToLowerBodyLightStops: shown === 'clothing' ? null : fall,
              uncertaintyStops: 0.5,
            },
      profileLevelsStops: withProfile
        ? cloth.map((stops, k) => face + stops - (fallStops * k) / (cloth.length - 1) + random.normal(0.08))
        : [],
    };
    return {
      name: `L${String(i + 1).padStart(3, '0')}.jpg`,
      measurement: fakeMeasurement(fake),
      failure: null,
      measurementHref: null,
    };
  });
  return judgeShoot({ shoot: { id: 'l', name: 'Place' }, plan: ShootPlan.parse({ light: 'flash' }), frames });
}

const runs = (report: ShootReport): number[] => report.setups.map(({ frames }) => frames.length);
const inTurn = (i: number): number => Math.floor(i / 5) % SITTERS.length;

describe('a light moved in height or distance, level and contrast on the face as before', () => {
  it('is seen by its fall from face to legs, skin to skin of the same sitter', () => {
    for (let seed = 1; seed <= 10; seed++) {
      const report = judge(28, (i) => ({ who: 0, fallStops: i < 14 ? 0.1 : 0.9 }), seed);
      expect(runs(report)).toEqual([14, 14]);
      expect(report.setups[1]?.changeFromPrevious?.fallOffStops).toBeCloseTo(0.8, 0);
      expect(report.setups[1]?.changeFromPrevious?.because).toMatch(/more fall-off down the body/);
      expect(report.setups[1]?.changeFromPrevious?.levelStops).toBeCloseTo(0, 0);
    }
  });

  it('is seen by skin of several sitters where each was there once only, if it is more than legs differ by', () => {
    const report = judge(40, (i) => ({ who: inTurn(i), fallStops: i < 20 ? 0 : 1.3, legs: 'skin' }));
    expect(runs(report)).toEqual([20, 20]);
  });

  it('is seen by the profile of the same sitter from head to feet, clothes and all', () => {
    for (let seed = 1; seed <= 10; seed++) {
      const report = judge(28, (i) => ({ who: 3, fallStops: i < 14 ? 0 : 1.2, withProfile: true }), seed);
      expect(runs(report)).toEqual([14, 14]);
    }
  });

  it('is seen by the background, which a nearer light leaves darker', () => {
    for (let seed = 1; seed <= 10; seed++)
      expect(runs(judge(40, (i) => ({ who: inTurn(i), wallStops: i < 20 ? 0 : -0.7, legs: 'none' }), seed))).toEqual([
        20, 20,
      ]);
  });
});

describe('what is no other light', () => {
  it('sitters in other clothes, whose legs and profiles differ by stops', () => {
    for (let seed = 1; seed <= 10; seed++) {
      const dressed = (i: number): Made => ({ who: inTurn(i), legs: 'clothing', withProfile: true });
      expect(runs(judge(40, dressed, seed))).toEqual([40]);
    }
  });

  it('sitters whose legs differ by themselves from their faces', () => {
    for (let seed = 1; seed <= 10; seed++)
      expect(runs(judge(40, (i) => ({ who: inTurn(i), withProfile: true }), seed))).toEqual([40]);
  });

  it('one frame with dark legs, which is an incident', () => {
    const report = judge(28, (i) => ({ who: 0, fallStops: i === 14 ? 1.6 : 0 }));
    expect(runs(report)).toEqual([28]);
    expect(report.frames[14]?.flags.map(({ code }) => code)).toContain('lower-body-dark');
  });
});
