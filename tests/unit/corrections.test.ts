import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../samples/make/random.js';
import type { Correction } from '../../src/contracts/correction.js';
import { ShootPlan } from '../../src/contracts/plan.js';
import { ShootReport } from '../../src/contracts/report.js';
import { correctedFrames } from '../../src/render/corrected-frames.js';
import { noiseLimitStops, noiseShareAt } from '../../src/shoot/corrections/noise-limit.js';
import { factsOf } from '../../src/shoot/facts.js';
import { judgeShoot } from '../../src/shoot/judge.js';
import { lookOf } from '../../src/shoot/look/save-look.js';
import { fakeShoot, judgeFakes, lit, times } from '../support/fake-shoot.js';
import { fakeMeasurement, type FakeFrame } from '../support/measurement.js';

const FACE = 0.5;
const LEGS_OF_THE_LIGHT = 0.3;
const legs = (fall: number, face = FACE): NonNullable<FakeFrame['lowerBody']> => ({
  levelStops: face - fall,
  basis: 'skin',
  faceToLowerBodyLightStops: fall,
  uncertaintyStops: 0.3,
});

/** A frame knocked in level by settings or lamp, in colour, and in the light on the legs. */
function knocked(seed: string): FakeFrame[] {
  const random = seededRandom(seed);
  return Array.from({ length: 24 }, (_, i): FakeFrame => {
    const kind = i % 6;
    const level = kind === 1 ? 2 * (random.uniform() - 0.5) : kind === 2 ? 1 : 0;
    const fall = kind === 4 ? 1 + random.uniform() : LEGS_OF_THE_LIGHT;
    const warm = kind === 3 ? 80 * (random.uniform() - 0.5) : 0;
    return {
      ...lit(level, { faceLevelStops: FACE }),
      iso: kind === 2 ? 200 : 100,
      wallMired: 180 + warm,
      skinMired: 240 + warm,
      lowerBody: legs(fall, FACE + level),
    };
  });
}

/** What the picture of a fake frame holds once its corrections were made in linear light. */
function corrected(fake: FakeFrame, corrections: readonly Correction[]): FakeFrame {
  let now: FakeFrame = { ...fake };
  for (const { step, region, stops, mired } of corrections) {
    if (step === 'level') {
      now = { ...now, ...lit(stops ?? 0, now) };
      if (now.lowerBody) now.lowerBody = { ...now.lowerBody, levelStops: now.lowerBody.levelStops + (stops ?? 0) };
    }
    if (step === 'cast')
      now = { ...now, wallMired: (now.wallMired ?? 0) + (mired ?? 0), skinMired: (now.skinMired ?? 0) + (mired ?? 0) };
    if (region === 'lower-body' && now.lowerBody)
      now.lowerBody = {
        ...now.lowerBody,
        levelStops: now.lowerBody.levelStops + (stops ?? 0),
        faceToLowerBodyLightStops: (now.lowerBody.faceToLowerBodyLightStops ?? 0) - (stops ?? 0),
      };
  }
  return now;
}

describe('corrections', () => {
  it.each(['one', 'two', 'three', 'four'])('made in linear light leave the set within tolerance: %s', (seed) => {
    const fakes = knocked(seed);
    const before = judgeFakes(fakes);
    expect(ShootReport.safeParse(before).error).toBeUndefined();
    expect(before.summary.consistent).toBeLessThan(24);
    const after = judgeFakes(
      fakes.map((fake, i) => corrected(fake, correctedFrames(before)[i]?.corrections ?? [])),
      { finished: true },
    );
    for (const [i, frame] of after.frames.entries()) {
      const left = correctedFrames(before)[i]?.corrections.some(({ limitedBy }) => limitedBy !== null) === true;
      if (!left) expect(frame.verdict, JSON.stringify(frame.flags)).toBe('consistent');
      expect(Math.abs(frame.deviation.fromSetupStops ?? 0)).toBeLessThan(1 / 3);
    }
    expect(before.corrections.flatMap(({ steps }) => steps).length).toBeGreaterThan(8);
  });

  it('come in the order level, colour, regions, whatever there is to do', () => {
    const all = lit(-1, {
      faceLevelStops: FACE,
      wallMired: 230,
      skinMired: 290,
      iso: 100,
      lowerBody: legs(2, FACE - 1),
    });
    const report = judgeFakes([...times(8, { lowerBody: legs(0.3) }), all, ...times(8, { lowerBody: legs(0.3) })]);
    const steps = correctedFrames(report)[8]?.corrections ?? [];
    expect(steps.map(({ step, region }) => `${step} ${region}`)).toEqual([
      'level frame',
      'cast frame',
      'lift lower-body',
    ]);
    expect(steps[0]?.stops).toBeCloseTo(1, 1);
    expect(steps[1]?.mired).toBeCloseTo(-50, 0);
    expect(correctedFrames(report)[0]?.corrections).toEqual([]);
  });

  it('go to the reference frame, or to the look, where one is named', () => {
    const off = [...times(8), lit(0.6), ...times(8)];
    const toReference = judgeFakes(off, { light: 'flash', referenceFrame: 'F009.jpg' });
    expect(correctedFrames(toReference)[0]?.corrections[0]).toMatchObject({ step: 'level', toward: 'reference' });
    expect(correctedFrames(toReference)[0]?.corrections[0]?.stops).toBeCloseTo(0.6, 1);
    expect(correctedFrames(toReference)[8]?.corrections).toEqual([]);
    const look = lookOf(judgeFakes(times(10)), 'hall');
    const toLook = judgeFakes(times(10, lit(-1, { wallMired: 220, skinMired: 280 })), { light: 'flash', look });
    expect(correctedFrames(toLook)[3]?.corrections.map(({ toward, step }) => `${step} to ${toward}`)).toEqual([
      'level to look',
      'cast to look',
    ]);
    expect(correctedFrames(toLook)[3]?.corrections[0]?.stops).toBeCloseTo(1, 1);
  });

  it('never take skin for the light: deeper skin before the same wall is not raised to a look', () => {
    const look = lookOf(judgeFakes(times(10)), 'hall');
    const report = judgeFakes(times(10, { faceLevelStops: -1, torsoLevelStops: -2 }), { light: 'flash', look });
    for (const { corrections } of correctedFrames(report))
      expect(corrections.filter(({ step }) => step === 'level')).toEqual([]);
  });

  it('say what no correction brings back', () => {
    const burnt = lit(2, { facesClippedShare: 0.3 });
    const report = judgeFakes([...times(8), burnt, ...times(8)]);
    expect(correctedFrames(report)[8]?.corrections[0]?.because).toContain(
      '30 % of the face is clipped and stays without detail',
    );
  });
});

describe('what noise lets be raised', () => {
  const noise = (noiseShare: number) => ({ byLevel: [{ fromStops: -5, toStops: -4, noiseShare, parts: 40 }] });
  const facts = (share: number | null, iso = 100) => {
    const measurement = { ...fakeMeasurement({ iso }), ...(share === null ? {} : { noise: noise(share) }) };
    return factsOf({ name: 'x', measurement, failure: null, measurementHref: null }, measurement, 0);
  };

  it('is by ISO alone where no noise was read', () => {
    expect(noiseLimitStops(facts(null), -4.5)).toBe(3);
    expect(noiseLimitStops(facts(null, 1600), -4.5)).toBeCloseTo(1, 6);
    expect(noiseLimitStops(facts(null, 1600), null)).toBeCloseTo(1, 6);
  });

  it('is so much that the noise is a tenth of mid-grey, where that is less', () => {
    // At -4.5 stops, noise of 0.8 of the signal is 0.8 x 2^-4.5 of mid-grey.
    expect(noiseLimitStops(facts(0.8), -4.5)).toBeCloseTo(Math.log2(0.1 / (0.8 * 2 ** -4.5)), 6);
    expect(noiseLimitStops(facts(0.01), -4.5)).toBe(3);
    expect(noiseShareAt(noise(0.2), 3)).toBe(0.2);
    expect(noiseShareAt(undefined, 0)).toBeNull();
  });

  it('holds back a frame that is four stops under, and says so', () => {
    const frames = fakeShoot([...times(8), lit(-4), ...times(8)]);
    const dark = frames[8]?.measurement;
    if (!dark) throw new Error('no frame');
    dark.noise = noise(0.5);
    const report = judgeShoot({ shoot: { id: 'x', name: 'x' }, plan: ShootPlan.parse({ light: 'flash' }), frames });
    const [level] = correctedFrames(report)[8]?.corrections ?? [];
    expect(level).toMatchObject({ step: 'level', limitedBy: 'noise' });
    expect(level?.stops).toBeLessThan(3.01);
    expect(report.frames[8]?.toBaselineStops).toBeCloseTo(4, 1);
  });
});
