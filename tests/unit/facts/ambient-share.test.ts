import { describe, expect, it } from 'vitest';
import { ambientShareOf, shutterStops } from '../../../src/shoot/ambient-share.js';
import type { FrameFacts } from '../../../src/shoot/facts.js';
import type { FakeFrame } from '../../support/measurement.js';
import { START_MS, factOf } from '../../support/frame-facts.js';

describe('continuous light beside a flash', () => {
  /** A wall lit by flash and a share of ambient at 1/125 s, under these shutters, ten seconds apart. */
  const walls = (share: number, times: readonly number[], more: (i: number) => FakeFrame = () => ({})): FrameFacts[] =>
    times.map((seconds, i) =>
      factOf({
        exposureTimeSeconds: seconds,
        backgroundLevelStops: -1 + Math.log2(1 - share + share * 2 ** Math.round(Math.log2(125 * seconds))),
        capturedAtMs: START_MS + 10_000 * i,
        ...more(i),
      }),
    );
  const [USUAL, LONG] = [1 / 125, 1 / 60];
  const STEADY = [USUAL, USUAL, USUAL, USUAL];
  const CHANGES = [...STEADY, LONG, ...STEADY, LONG, ...STEADY];

  it('is found from what each change of shutter did to the wall: log2(1 - a + a r)', () => {
    const found = ambientShareOf([walls(0.5, CHANGES)], true);
    expect(found?.share).toBeCloseTo(0.5, 6);
    expect(found).toMatchObject({ usualTv: 7, changes: 4 });
    expect(ambientShareOf([walls(0.5, [...CHANGES, LONG, ...STEADY])], false)?.changes).toBe(6);
  });

  it('is none where the shutter did nothing, or all', () => {
    expect(ambientShareOf([walls(0, CHANGES)], true)).toBeNull();
    expect(ambientShareOf([walls(1, CHANGES)], true)).toBeNull();
    expect(ambientShareOf([walls(0.5, [USUAL, USUAL, USUAL])], true)).toBeNull();
    expect(ambientShareOf([], true)).toBeNull();
  });

  it('is found where the shutter changes with every frame, since the wall scatters by what frames of one shutter differ by', () => {
    const turns = Array.from({ length: 11 }, (_, i) => (i % 2 === 0 ? USUAL : LONG));
    const found = ambientShareOf([walls(0.5, turns)], true);
    expect(found?.share).toBeCloseTo(0.5, 6);
    expect(found?.changes).toBe(10);
    // Half a stop up and down under each of the two shutters, so that the share could be anything.
    const scattered = walls(0.5, turns).map((fact, i) => ({ ...fact, backgroundLevelStops: (fact.backgroundLevelStops ?? 0) + (i % 4 < 2 ? 0.25 : -0.25) })); // prettier-ignore
    expect(ambientShareOf([scattered], true)).toBeNull();
  });

  it('is as uncertain by a change back as by the change: sqrt(2) x 0.07 stop through ln 2 (1 - a + a r) / (r - 1)', () => {
    const one = Math.SQRT2 * 0.07 * Math.LN2 * 1.5;
    const ofTwo = (Math.sqrt(Math.PI / 2) * one) / Math.sqrt(2);
    const there = ambientShareOf([walls(0.5, [...STEADY, LONG, ...STEADY])], true);
    expect(there).toMatchObject({ changes: 2 });
    expect(there?.errorShare).toBeCloseTo(ofTwo, 6);
  });

  it('needs two changes with a flash that is known, four without, and in one go', () => {
    expect(ambientShareOf([walls(0.5, [...STEADY, LONG])], true)).toBeNull();
    expect(ambientShareOf([walls(0.5, [...STEADY, LONG, ...STEADY])], true)).not.toBeNull();
    expect(ambientShareOf([walls(0.5, [...STEADY, LONG, ...STEADY])], false)).toBeNull();
    expect(
      ambientShareOf([walls(0.5, CHANGES, (i) => ({ capturedAtMs: START_MS + 120_000 * i }))], true),
    ).not.toBeNull();
    expect(ambientShareOf([walls(0.5, CHANGES, (i) => ({ capturedAtMs: START_MS + 120_001 * i }))], true)).toBeNull();
  });

  it('is not read where another dial moved, the camera chose, or the wall is not there', () => {
    expect(ambientShareOf([walls(0.5, CHANGES, (i) => ({ iso: i % 5 === 4 ? 200 : 100 }))], true)).toBeNull();
    expect(ambientShareOf([walls(0.5, CHANGES, (i) => ({ fNumber: i % 5 === 4 ? 5.6 : 8 }))], true)).toBeNull();
    expect(ambientShareOf([walls(0.5, CHANGES, () => ({ exposureProgram: 'program' }))], true)).toBeNull();
    expect(ambientShareOf([walls(0.5, CHANGES, () => ({ backgroundShare: 0 }))], true)).toBeNull();
  });

  it('counts the shutter for its share', () => {
    expect(shutterStops(6, 0, 7)).toBe(0);
    expect(shutterStops(6, 1, 7)).toBe(-6);
    expect(shutterStops(7, 0.5, 7)).toBe(0);
    expect(shutterStops(6, 0.5, 7)).toBeCloseTo(Math.log2(1.5), 12);
  });
});
