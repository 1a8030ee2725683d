import { describe, expect, it } from 'vitest';
import type { JudgedFrameInput } from '../../src/shoot/input.js';
import { learnResponse, lightOfReading } from '../../src/shoot/rendering/learned-response.js';
import { matchDistributions, type LevelPair } from '../../src/shoot/rendering/match-distributions.js';
import { responseFromSettings } from '../../src/shoot/rendering/settings-response.js';
import { histogramOf } from '../support/histogram.js';
import { fakeMeasurement, type FakeFrame } from '../support/measurement.js';

describe('two distributions of one scene', () => {
  /* Histogram specification: equal shares of the pixels lie under equal places (Gonzalez & Woods, Digital Image Processing). */
  it('spread evenly, are matched by the straight line between their ends', () => {
    const pairs = matchDistributions(histogramOf(-3, 1), histogramOf(-6, 2));
    expect(pairs).toHaveLength(97);
    pairs.forEach(({ lightStops, readStops }, i) => {
      const share = 0.02 + 0.01 * i;
      expect(lightStops).toBeCloseTo(-3 + 4 * share, 9);
      expect(readStops).toBeCloseTo(-6 + 8 * share, 9);
    });
  });

  it('are compared between six stops under mid-grey and 2.4 over it as read', () => {
    const pairs = matchDistributions(histogramOf(-3, 1), histogramOf(-8, 3));
    const read = pairs.map(({ readStops }) => readStops);
    // Steps of 0.11 stop from -7.78: -6.02 is too low, 2.45 too high.
    expect([read[0], read.at(-1), read.length]).toEqual([expect.closeTo(-5.91, 9), expect.closeTo(2.34, 9), 76]);
  });

  it('say nothing of the pixels that lie below or above the bins', () => {
    const total = 60 * 24;
    // A tenth of all pixels below, a fifth above.
    const [below, above] = [total / 7 + 1, (2 * total) / 7 + 1];
    const one = matchDistributions(histogramOf(-3, 1, 60, below, above), histogramOf(-3, 1));
    const other = matchDistributions(histogramOf(-3, 1), histogramOf(-3, 1, 60, below, above));
    const shareOf = ({ lightStops }: LevelPair) => (lightStops + 3) / 4;
    expect([one.length, other.length]).toEqual([69, 69]);
    expect(one[0]!.lightStops).toBeCloseTo(-3 + 4 / 70, 1);
    expect(one.at(-1)!.lightStops).toBeCloseTo(1 - 4 / 70, 1);
    expect(shareOf(other[0]!)).toBeCloseTo(0.11, 9);
    expect(shareOf(other.at(-1)!)).toBeCloseTo(0.79, 9);
  });

  it('of which one holds a gap jump over it', () => {
    const gap = histogramOf(-3, -1);
    const upper = histogramOf(0, 2);
    const counts = gap.counts.map((n, bin) => n + upper.counts[bin]!);
    const pairs = matchDistributions({ ...gap, counts }, histogramOf(-2, 2));
    for (const { lightStops } of pairs) expect(lightStops <= -1 + 1e-9 || lightStops > 0).toBe(true);
    expect(pairs.filter(({ lightStops }) => lightStops > 0)[0]!.readStops).toBeCloseTo(0.04, 9);
  });
});

/** Level pairs every tenth of a stop as read, where light follows the reading by `light`. */
const pairsOf = (light: (read: number) => number, from = -4.2, to = 2.2): LevelPair[] =>
  Array.from({ length: Math.round((to - from) * 10) + 1 }, (_, i) => from + i / 10).map((readStops) => ({
    readStops,
    lightStops: light(readStops),
  }));

describe('a response learned from level pairs', () => {
  const straight = learnResponse([pairsOf((read) => read / 1.5 + 7)], 'exposures')!;

  it('is the curve with mid-grey at mid-grey, whatever the raw’s scale', () => {
    for (const read of [-4, -2.2, -0.3, 0, 0.7, 1.9]) expect(lightOfReading(straight, read)).toBeCloseTo(read / 1.5, 1);
    expect(straight.because).toBe('learned in this shoot from 1 exposures, over 6.0 stops');
    expect(straight.readStops).toHaveLength(13);
    expect(straight.readStops).toEqual([...straight.readStops].sort((a, b) => a - b));
  });

  it('goes on with its end slopes beyond what it saw, and straight between its knots', () => {
    const response = { readStops: [-2, 0, 1], lightStops: [-1, 0, 2], uncertaintyStops: 0, because: '' };
    expect([-4, -2, -1, 0, 0.5, 1, 3].map((read) => lightOfReading(response, read))).toEqual([
      -2, -1, -0.5, 0, 1, 2, 6,
    ]);
  });

  it('takes several exposures together, each shifted by its own scale', () => {
    const both = learnResponse([pairsOf((read) => read / 1.5 + 3), pairsOf((read) => read / 1.5 - 2)], 'exposures')!;
    expect(both.because).toContain('from 2 exposures');
    both.lightStops.forEach((light, i) => expect(light).toBeCloseTo(straight.lightStops[i]!, 9));
  });

  it('has its knots in order, also where a later exposure reaches further down', () => {
    const { readStops } = learnResponse([pairsOf((read) => read, -1.2, 2.2), pairsOf((read) => read)], 'exposures')!;
    expect(readStops).toEqual([...readStops].sort((a, b) => a - b));
    expect(readStops).toHaveLength(13);
  });

  it('is known to 0.04 stop a stop at best, and worse as exposures differ', () => {
    expect(learnResponse([pairsOf((read) => read)], 'x')!.uncertaintyStops).toBe(0.04);
    const apart = learnResponse([pairsOf((read) => read), pairsOf((read) => read * 1.4)], 'x')!;
    // Two exposures 0.4 stop a stop apart lie 0.2 on either side of their middle: 1.4826 times that.
    expect(apart.uncertaintyStops).toBeGreaterThan(0.2);
    expect(apart.uncertaintyStops).toBeLessThan(0.4);
  });

  it('needs three stops, and an exposure that crosses mid-grey', () => {
    expect(learnResponse([pairsOf((read) => read, -1.7, 1.7)], 'x')).not.toBeNull();
    expect(learnResponse([pairsOf((read) => read, -1.2, 1.2)], 'x')).toBeNull();
    expect(learnResponse([pairsOf((read) => read, -5, -1)], 'x')).toBeNull();
    expect(learnResponse([pairsOf((read) => read, 0.1, 5)], 'x')).toBeNull();
    expect(learnResponse([], 'x')).toBeNull();
    // One that does not cross it has no say in the others' curve.
    const dark = pairsOf(() => 99, -5, -1);
    const one = learnResponse([dark, pairsOf((read) => read / 1.5)], 'exposures')!;
    expect(one.because).toContain('from 1 exposures');
    one.lightStops.forEach((light, i) => expect(light).toBeCloseTo(straight.lightStops[i]!, 9));
  });

  it('leaves out knots of fewer than four pairs, and such as would turn the curve down', () => {
    const few = learnResponse([[...pairsOf((read) => read), { readStops: 2.5, lightStops: 9 }]], 'x')!;
    expect(Math.max(...few.lightStops)).toBeLessThan(3);
    const down = learnResponse([pairsOf((read) => (read > 1 ? 0.5 : read))], 'x')!;
    for (let i = 1; i < down.lightStops.length; i++)
      expect(down.lightStops[i]!).toBeGreaterThan(down.lightStops[i - 1]!);
    expect(down.readStops.at(-1)).toBeLessThan(1.3);
  });

  it('finds mid-grey straight between the two pairs around it', () => {
    const coarse = [-3, -1, 3].flatMap((read) =>
      Array.from({ length: 4 }, () => ({ readStops: read, lightStops: read / 2 + 1 })),
    );
    const { readStops, lightStops } = learnResponse([coarse], 'x')!;
    expect([readStops, lightStops]).toEqual([
      [-3, -1, 3],
      [-1.5, -0.5, 1.5],
    ]);
  });
});

describe('a response learned from settings that changed under one light', () => {
  /** ISO 100 and 200 in turn, one stop read as `slope`. */
  const change = (i: number, slope: number): FakeFrame => ({
    iso: 100 * 2 ** (i % 2),
    faceLevelStops: 0.3 + slope * (i % 2),
    backgroundLevelStops: -0.8 + slope * (i % 2),
    capturedAtMs: 1_780_000_000_000 + 5_000 * i,
  });
  const frames = (count: number, of: (i: number) => FakeFrame): JudgedFrameInput[] =>
    Array.from({ length: count }, (_, i) => ({
      name: `F${i}.jpg`,
      measurement: fakeMeasurement(of(i)),
      failure: null,
      measurementHref: null,
    }));
  const slopeOf = (count: number, of: (i: number) => FakeFrame, light: 'auto' | 'flash' | 'continuous' = 'auto') =>
    responseFromSettings(frames(count, of), light)?.readStops[1] ?? null;

  it('is the ratio of read to set, from five changes on, known to 0.04 at best', () => {
    const learned = responseFromSettings(
      frames(6, (i) => change(i, 1.25)),
      'auto',
    )!;
    expect(learned).toMatchObject({
      lightStops: [-1, 1],
      uncertaintyStops: 0.04,
      because: 'learned in this shoot from 5 changes of the settings under one light: one stop read as 1.25',
    });
    expect(learned.readStops).toEqual([expect.closeTo(-1.25, 9), expect.closeTo(1.25, 9)]);
    expect(slopeOf(5, (i) => change(i, 1.25))).toBeNull();
    expect(slopeOf(0, (i) => change(i, 1.25))).toBeNull();
  });

  it('only from plausible ratios, which most changes share', () => {
    expect(slopeOf(6, (i) => change(i, 0.61))).toBeCloseTo(0.61, 9);
    expect(slopeOf(6, (i) => change(i, 1.59))).toBeCloseTo(1.59, 9);
    expect(slopeOf(6, (i) => change(i, 0.59))).toBeNull();
    expect(slopeOf(6, (i) => change(i, 1.61))).toBeNull();
    // Of ten changes eight agree, then seven: two frames that were compensated spoil two or three changes.
    const compensated = (at: number[]) => (i: number) =>
      at.includes(i) ? { ...change(i, 0), iso: 200 } : change(i, 1.2);
    expect(slopeOf(11, compensated([5]))).toBeCloseTo(1.2, 9);
    expect(slopeOf(11, compensated([0, 5]))).toBeNull();
  });

  it('not from ratios that scatter by more than 0.08', () => {
    // Up to ISO 200 by 1.2 ± d, and back: the ratios are 1.2 - d and 1.2 + d, two by two.
    const scattered = (d: number) => (i: number) => change(i, 1.2 + (i % 4 === 1 ? d : -d));
    expect(slopeOf(13, scattered(0.053))).not.toBeNull();
    expect(slopeOf(13, scattered(0.055))).toBeNull();
  });

  it('from neighbours within two minutes, in time and not in the order given', () => {
    const apart = (ms: number) => (i: number) => ({ ...change(i, 1.2), capturedAtMs: 1_780_000_000_000 + ms * i });
    expect(slopeOf(7, apart(120_000))).toBeCloseTo(1.2, 9);
    expect(slopeOf(7, apart(120_001))).toBeNull();
    expect(slopeOf(7, (i) => ({ ...change(i, 1.2), capturedAtMs: null }))).toBeNull();
    const mixed = frames(8, (i) => change(i, 1.2));
    const others = [...mixed.filter((_, i) => i % 2 === 0), ...mixed.filter((_, i) => i % 2 === 1)];
    expect(responseFromSettings(others, 'auto')).not.toBeNull();
  });

  it('from changes of 0.6 stop and more that wall and face show alike', () => {
    const third = (i: number) => ({ ...change(i, 1.2 / 3), iso: i % 2 === 0 ? 100 : 125 });
    expect(slopeOf(8, third)).toBeNull();
    const twoThirds = (i: number) => ({ ...change(i, 0.8), iso: i % 2 === 0 ? 100 : 160 });
    expect(slopeOf(8, twoThirds)).toBeCloseTo(1.2, 9);
    // Of two stops a sixth more may differ, and of half a stop a sixth of that.
    const twoStops = (by: number) => (i: number) => ({
      ...change(i, 2.4),
      iso: i % 2 === 0 ? 100 : 400,
      backgroundLevelStops: -0.8 + (2.4 + by) * (i % 2),
    });
    expect([slopeOf(8, twoStops(0.28)), slopeOf(8, twoStops(0.32))]).toEqual([expect.closeTo(1.27, 9), null]);
    const wallMore = (by: number) => (i: number) => ({
      ...change(i, 1.2),
      backgroundLevelStops: -0.8 + (1.2 + by) * (i % 2),
    });
    expect(slopeOf(8, wallMore(0.14))).toBeCloseTo(1.27, 9);
    expect(slopeOf(8, wallMore(-0.14))).toBeCloseTo(1.13, 9);
    expect(slopeOf(8, wallMore(0.16))).toBeNull();
    expect(slopeOf(8, (i) => ({ ...change(i, 1.2), faceLevelStops: null }))).toBeNull();
    expect(slopeOf(8, (i) => ({ ...change(i, 1.2), backgroundLevelStops: null }))).toBeNull();
    expect(slopeOf(8, (i) => ({ ...change(i, 1.2), iso: null }))).toBeNull();
  });

  it('from the aperture as from the ISO; from the shutter only under continuous light', () => {
    const aperture = (i: number) => ({ ...change(i, 1.2), iso: 100, fNumber: i % 2 === 0 ? 8 : 5.6 });
    expect(slopeOf(8, aperture)).toBeCloseTo(1.2, 2);
    const shutter = (i: number) => ({
      ...change(i, 1.2),
      iso: 100,
      exposureTimeSeconds: i % 2 === 0 ? 1 / 125 : 1 / 60,
    });
    expect(slopeOf(8, shutter, 'continuous')).toBeCloseTo(1.2, 2);
    expect(slopeOf(8, shutter, 'flash')).toBeNull();
    expect(slopeOf(8, shutter, 'auto')).toBeNull();
    // ISO and shutter together: under flash the shutter does not count, unknown light leaves the change out.
    const both = (i: number) => ({ ...change(i, 1.2), exposureTimeSeconds: i % 2 === 0 ? 1 / 125 : 1 / 60 });
    expect(slopeOf(8, both, 'flash')).toBeCloseTo(1.2, 9);
    expect(slopeOf(8, both, 'auto')).toBeNull();
    expect(slopeOf(8, both, 'continuous')).toBeCloseTo(0.6, 2);
  });

  it('a frame that could not be measured makes no change', () => {
    const some = frames(9, (i) => change(i, 1.2)).map((frame, i) =>
      i === 4 ? { ...frame, measurement: null } : frame,
    );
    expect(responseFromSettings(some, 'auto')).not.toBeNull();
  });

  it('frames that show neither face nor wall have no say for or against', () => {
    const blank = (i: number): FakeFrame =>
      i < 7 ? change(i, 1.2) : { ...change(i, 1.2), faceLevelStops: null, backgroundLevelStops: null };
    expect(slopeOf(16, blank)).toBeCloseTo(1.2, 9);
  });
});
