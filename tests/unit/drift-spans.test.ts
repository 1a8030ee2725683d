import { describe, expect, it } from 'vitest';
import { describeDrift } from '../../src/shoot/describe-drift.js';
import { driftOfSetup, findDrifts, withoutDrift, type DriftSpan } from '../../src/shoot/drift-spans.js';
import type { SequenceFrame } from '../../src/shoot/sequence.js';
import type { Stretch } from '../../src/shoot/setups.js';
import { contextOf } from '../support/frame-context.js';
import type { FakeFrame } from '../support/measurement.js';
import { trackOf } from '../support/track.js';

const shake = (i: number): number => 0.01 * Math.sin(12.9 * i);
/** The light on wall and sitter at each frame. */
const litTrack = (
  count: number,
  stops: (i: number) => number,
  told: (i: number) => Partial<SequenceFrame> = () => ({}),
  fake?: (i: number) => FakeFrame,
) =>
  trackOf(
    count,
    (i) => ({ wallLightStops: stops(i) - 1 + shake(i), subjectLightStops: stops(i) + 0.5 + shake(i + 7), ...told(i) }),
    fake,
  );
const pieces = (...ends: number[]): Stretch[] => ends.map((end, i) => ({ start: ends[i - 1] ?? 0, end }));
const never = () => false;
const spansOf = (
  frames: readonly SequenceFrame[],
  cut: readonly Stretch[],
  pauseBefore: (i: number) => boolean = never,
  weight = 0,
) => findDrifts(frames, cut, weight, pauseBefore).map(({ start, end }) => [start, end]);

describe('spans of drifting light', () => {
  const rising = (i: number) => 0.02 * i;

  it('join the pieces that a ramp was cut into', () => {
    expect(spansOf(litTrack(40, rising), pieces(10, 20, 30, 40))).toEqual([[0, 40]]);
    const [span] = findDrifts(litTrack(40, rising), pieces(40), 0, never);
    expect(span).toMatchObject({ start: 0, end: 40, drift: { witnesses: 'both' } });
    expect(span!.drift.stopsPerFrame).toBeCloseTo(0.02, 3);
  });

  it('are none in light that stands, nor in few frames', () => {
    expect(
      spansOf(
        litTrack(40, () => 0),
        pieces(20, 40),
      ),
    ).toEqual([]);
    expect(
      spansOf(
        litTrack(11, (i) => 0.1 * i),
        pieces(5, 11),
      ),
    ).toEqual([]);
    expect(
      spansOf(
        litTrack(12, (i) => 0.1 * i),
        pieces(5, 12),
      ),
    ).toEqual([[0, 12]]);
    expect(spansOf([], [])).toEqual([]);
  });

  it('end at a pause', () => {
    // A battery that recovers: from 0.4 stop down to where it began.
    const tired = (i: number) => -0.02 * (i % 20);
    expect(spansOf(litTrack(40, tired), pieces(10, 20, 30, 40), (i) => i === 20)).toEqual([
      [0, 20],
      [20, 40],
    ]);
    const before = spansOf(litTrack(40, rising), pieces(10, 20, 30, 40), (i) => i === 10);
    expect(before).toEqual([[10, 40]]);
  });

  it('end where a setting stays changed, and not where a dial was knocked for some frames', () => {
    const from = (at: number, to: number, change: FakeFrame) => (i: number) => (i >= at && i < to ? change : {});
    const settings = (at: number, to: number) => (i: number) => ({ settingsStops: i >= at && i < to ? -1 : 0 });
    const cut = pieces(10, 20, 24, 40);
    for (const change of [{ fNumber: 11 }, { iso: 50 }]) {
      expect(spansOf(litTrack(40, rising, settings(20, 40), from(20, 40, change)), cut)[0]).toEqual([0, 20]);
      expect(spansOf(litTrack(40, rising, settings(20, 24), from(20, 24, change)), cut)).toEqual([[0, 40]]);
    }
    const shutter = litTrack(40, rising, () => ({}), from(20, 40, { exposureTimeSeconds: 1 / 250 }));
    expect(spansOf(shutter, cut)).toEqual([[0, 40]]);
    expect(spansOf(shutter, cut, never, 1)[0]).toEqual([0, 20]);
  });

  it('end where settings were others for more than a quarter of the frames, though they were put back', () => {
    const other = (i: number) => i >= 12 && i < 28;
    const frames = litTrack(
      40,
      rising,
      (i) => ({ settingsStops: other(i) ? -1 : 0 }),
      (i) => (other(i) ? { iso: 50 } : {}),
    );
    expect(spansOf(frames, pieces(12, 28, 40))).not.toContainEqual([0, 40]);
    const few = (i: number) => i >= 16 && i < 24;
    const knocked = litTrack(
      40,
      rising,
      (i) => ({ settingsStops: few(i) ? -1 : 0 }),
      (i) => (few(i) ? { iso: 50 } : {}),
    );
    expect(spansOf(knocked, pieces(16, 24, 40))).toEqual([[0, 40]]);
  });

  it('are found without settings, and end where they become known', () => {
    const unknown: FakeFrame = { fNumber: null, iso: null, exposureTimeSeconds: null };
    expect(
      spansOf(
        litTrack(
          40,
          rising,
          () => ({}),
          () => unknown,
        ),
        pieces(10, 20, 30, 40),
      ),
    ).toEqual([[0, 40]]);
    const later = litTrack(
      40,
      rising,
      () => ({}),
      (i) => (i < 20 ? unknown : {}),
    );
    expect(spansOf(later, pieces(10, 20, 30, 40))[0]).toEqual([0, 20]);
  });

  it('go on with an exposure that the camera sets', () => {
    const automatic = litTrack(
      40,
      rising,
      (i) => ({ automatic: true, settingsStops: i % 3 }),
      (i) => ({ fNumber: [8, 11, 16][Math.floor(i / 14)]! }),
    );
    expect(spansOf(automatic, pieces(10, 20, 30, 40))).toEqual([[0, 40]]);
  });

  it('are of the level alone: colour and side stand', () => {
    const cut = pieces(20, 40);
    const later = (change: FakeFrame) =>
      litTrack(
        40,
        rising,
        () => ({}),
        (i) => (i < 20 ? {} : change),
      );
    // A piece of twenty frames holds a drift of its own.
    expect(spansOf(later({}), cut)).toEqual([[0, 40]]);
    expect(spansOf(later({ wallMired: 200 }), cut)).toEqual([
      [0, 20],
      [20, 40],
    ]);
    expect(spansOf(later({ sideToSideStops: 1.79 }), cut)).toEqual([[0, 40]]);
    expect(spansOf(later({ sideToSideStops: 1.81 }), cut)).toEqual([
      [0, 20],
      [20, 40],
    ]);
    expect(spansOf(later({ sideToSideStops: 0.19 }), cut)).toHaveLength(2);
  });

  it('begin where their line meets the steady light before', () => {
    // Steady for thirty frames; the search for steps saw the first one at 36.
    const bend = (i: number) => Math.max(0, 0.03 * (i - 30));
    const [span] = spansOf(litTrack(70, bend), pieces(36, 50, 60, 70));
    expect(Math.abs(span![0]! - 30)).toBeLessThanOrEqual(2);
    expect(span![1]).toBe(70);
    // After a pause, and after another drift, nothing steady lies before.
    expect(spansOf(litTrack(70, bend), pieces(36, 50, 60, 70), (i) => i === 36)).toEqual([[36, 70]]);
    // A step to where the ramp begins: no frames before lie on its line.
    const stepped = (i: number) => (i < 30 ? -0.4 : 0.03 * (i - 30));
    expect(spansOf(litTrack(70, stepped), pieces(30, 50, 60, 70))).toEqual([[30, 70]]);
  });

  it('lie in one long piece that has no step, too: it is tried in parts', () => {
    const slow = (i: number) => Math.max(0, 0.006 * (i - 40));
    const [span, more] = spansOf(litTrack(120, slow), pieces(120));
    expect(more).toBeUndefined();
    expect(span![1]).toBe(120);
    expect(span![0]).toBeLessThanOrEqual(60);
    expect(
      spansOf(
        litTrack(23, (i) => 0.03 * i),
        pieces(23),
      ),
    ).toEqual([[0, 23]]);
  });
});

describe('the light without its drift', () => {
  const frames = trackOf(6, (i) => ({
    wallLightStops: i === 3 ? null : 0.1 * i,
    subjectLightStops: i === 4 ? null : 1 + 0.1 * i,
  }));
  const span = (start: number, end: number, stopsPerFrame = 0.1): DriftSpan => ({
    start,
    end,
    drift: { stopsPerFrame, errorStopsPerFrame: 0.001, witnesses: 'both' },
  });

  it('is what it was at the drift’s first frame, and each frame keeps how far it had drifted', () => {
    const flat = withoutDrift(frames, [span(1, 5)]);
    const near = (values: (number | null)[]) => values.map((v) => (v === null ? null : Math.round(v * 1e6) / 1e6));
    expect(near(flat.map(({ driftStops }) => driftStops))).toEqual([0, 0, 0.1, 0.2, 0.3, 0]);
    expect(near(flat.map(({ wallLightStops }) => wallLightStops))).toEqual([0, 0.1, 0.1, null, 0.1, 0.5]);
    expect(near(flat.map(({ subjectLightStops }) => subjectLightStops))).toEqual([1, 1.1, 1.1, 1.1, null, 1.5]);
    expect(withoutDrift(frames, [])).toEqual(frames);
    expect(frames[2]!.driftStops).toBe(0);
  });

  it('of a set-up is the longest drift that lies in it, as far as it lies in it', () => {
    const spans = [span(0, 10, 0.1), span(12, 40, 0.2), span(60, 70, 0.3)];
    expect(driftOfSetup(spans, { start: 5, end: 30 })).toMatchObject({ stopsPerFrame: 0.2, first: 7, last: 24 });
    expect(driftOfSetup(spans, { start: 0, end: 14 })).toMatchObject({ stopsPerFrame: 0.1, first: 0, last: 9 });
    expect(driftOfSetup(spans, { start: 0, end: 50 })).toMatchObject({ stopsPerFrame: 0.2, first: 12, last: 39 });
    expect(driftOfSetup(spans, { start: 39, end: 61 })).toBeNull();
    expect(driftOfSetup([], { start: 0, end: 9 })).toBeNull();
    const two = [span(20, 40, 0.1), span(45, 70, 0.2), span(80, 90, 0.3)];
    expect(driftOfSetup(two, { start: 0, end: 99 })).toMatchObject({ stopsPerFrame: 0.2, first: 45, last: 69 });
  });
});

describe('a drift as it is told', () => {
  const drift = { stopsPerFrame: -0.0125, errorStopsPerFrame: 0.0011, first: 2, last: 12 };
  const told = (
    kind: 'flash' | 'continuous',
    witnesses: 'both' | 'wall' | 'subject',
    more: Partial<typeof drift> = {},
  ) => {
    const { setup, lightKind } = contextOf({ kind, setup: { drift: { ...drift, witnesses, ...more } } });
    return describeDrift(setup, lightKind);
  };

  it('by its rate, its error, how much in all, who tells it and what to do', () => {
    expect(told('flash', 'both')).toEqual({
      stopsPer100Frames: -1.25,
      errorStopsPer100Frames: 0.11,
      totalStops: -0.125,
      firstFrame: 'F003.jpg',
      lastFrame: 'F013.jpg',
      witnesses: 'both',
      because:
        'The light drifts by −1.25 stop in 100 frames (uncertain by 0.11; wall and sitters agree): −0.13 stop from F003.jpg to F013.jpg. Let the flash recharge fully, or change its battery, and meter again.',
    });
    expect(told('continuous', 'wall')!.because).toMatch(
      /; only the wall tells it\).*Let lamps warm up before metering, mind the daylight, and meter again\.$/,
    );
    expect(told('flash', 'subject')!.because).toContain('; only the sitters tell it)');
  });

  it('not at all where there is none, or its frames are not there', () => {
    expect(describeDrift(contextOf().setup, contextOf().lightKind)).toBeNull();
    expect(told('flash', 'both', { last: 99 })).toBeNull();
    expect(told('flash', 'both', { first: 99 })).toBeNull();
  });
});
