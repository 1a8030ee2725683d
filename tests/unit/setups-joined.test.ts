import { describe, expect, it } from 'vitest';
import { comparing, joinPieces, type Stretch } from '../../src/shoot/setups.js';
import type { FakeFrame } from '../support/measurement.js';
import { TRACK_START_MS, trackOf } from '../support/track.js';

/** What a stretch of frames shows: light on wall and sitter against the usual, settings and picture. */
interface Part {
  count: number;
  light?: number;
  settings?: number;
  fake?: FakeFrame;
  sitter?: number;
}

/** The parts one after another as pieces of a track, joined. */
function joined(parts: readonly Part[], weight = 0): [number, number][] {
  const each = parts.flatMap((part) => Array.from({ length: part.count }, () => part));
  const frames = trackOf(
    each.length,
    (i) => {
      const { light = 0, settings = 0, sitter = 0 } = each[i]!;
      return { wallLightStops: light - 1, subjectLightStops: light + 0.5, settingsStops: settings, sitter };
    },
    (i) => each[i]!.fake ?? {},
  );
  let end = 0;
  const pieces = parts.map(({ count }): Stretch => ({ start: end, end: (end += count) }));
  return joinPieces(pieces, frames, weight).map(({ start, end: last }) => [start, last]);
}

describe('pieces of a track made into set-ups', () => {
  const usual = (count: number): Part => ({ count });
  const darker = (count: number): Part => ({ count, light: -1 });

  it('are joined where they are alike, and stay apart where light, settings, side or colour changed', () => {
    expect(joined([usual(10), usual(10), usual(5)])).toEqual([[0, 25]]);
    for (const other of [
      { light: 0.5 },
      { settings: 1, fake: { iso: 200 } },
      { fake: { sideToSideStops: 2 } },
      { fake: { wallMired: 220 } },
    ] satisfies Omit<Part, 'count'>[])
      expect(joined([usual(10), { count: 10, ...other }])).toEqual([
        [0, 10],
        [10, 20],
      ]);
    expect(joined([])).toEqual([]);
    const slower: Part = { count: 10, fake: { exposureTimeSeconds: 1 / 60 } };
    expect([joined([usual(10), slower]).length, joined([usual(10), slower], 1).length]).toEqual([1, 2]);
  });

  it('keep up to three odd frames between frames of one arrangement; four are a set-up', () => {
    for (const count of [1, 2, 3]) expect(joined([usual(8), darker(count), usual(8)])).toEqual([[0, 16 + count]]);
    expect(joined([usual(8), darker(4), usual(8)])).toEqual([
      [0, 8],
      [8, 12],
      [12, 20],
    ]);
  });

  it('keep them whatever they differ in: an odd frame is odd in light, settings and colour at once', () => {
    for (const count of [2, 3]) {
      const odd: Part = { count, light: -1, settings: 1, fake: { iso: 200, wallMired: 230 } };
      expect(joined([usual(8), odd, usual(8)])).toEqual([[0, 16 + count]]);
    }
  });

  it('keep several short stretches in a row between two like ones, up to three of them', () => {
    const brighter: Part = { count: 1, light: 1 };
    expect(joined([usual(8), darker(1), brighter, usual(8)])).toEqual([[0, 18]]);
    expect(joined([usual(8), darker(1), brighter, darker(1), usual(8)])).toEqual([[0, 19]]);
  });

  it('keep settings that were knocked and put back after twelve frames, not after thirteen', () => {
    const knocked = (count: number): Part => ({ count, settings: 1, fake: { iso: 200 } });
    expect(joined([usual(14), knocked(12), usual(14)])).toEqual([[0, 40]]);
    expect(joined([usual(15), knocked(13), usual(15)])).toHaveLength(3);
    // Longer than both sides it is no incident in either.
    expect(joined([usual(8), knocked(8), usual(8)])).toHaveLength(3);
    expect(joined([usual(8), knocked(8), usual(9)])).toEqual([[0, 25]]);
    expect(joined([usual(9), knocked(8), usual(8)])).toEqual([[0, 25]]);
    // With the light turned up as well it was meant; with the light turned down by as much, the level stood.
    const meant = (light: number): Part => ({ ...knocked(12), light, fake: { iso: 200, backgroundLevelStops: light } });
    expect(joined([usual(14), meant(1), usual(14)])).toHaveLength(3);
    expect(joined([usual(14), meant(-1), usual(14)])).toEqual([[0, 40]]);
  });

  it('a single odd frame at an end goes to its neighbour, two that differ in more than one respect do not', () => {
    expect(joined([darker(1), usual(8)])).toEqual([[0, 9]]);
    expect(joined([usual(8), darker(1)])).toEqual([[0, 9]]);
    expect(joined([usual(8), darker(3)])).toEqual([[0, 11]]);
    const other: Part = { count: 2, light: -1, settings: 1, fake: { iso: 200, wallMired: 230 } };
    expect(joined([usual(8), other])).toEqual([
      [0, 8],
      [8, 10],
    ]);
    expect(joined([usual(8), { ...other, count: 1 }])).toEqual([[0, 9]]);
    expect(joined([darker(1)])).toEqual([[0, 1]]);
  });

  it('a single odd frame between two set-ups goes to the one it is more like: settings, colour, side and sitter', () => {
    const second: Part = { count: 8, settings: 2, fake: { iso: 400, wallMired: 230, sideToSideStops: 2 }, sitter: 1 };
    const odd = (told: Omit<Part, 'count'>): Part => ({ count: 1, light: -3, ...told });
    expect(joined([usual(8), odd({}), second])).toEqual([
      [0, 9],
      [9, 17],
    ]);
    expect(joined([usual(8), odd({ settings: 2, fake: { iso: 400 }, sitter: 1 }), second])).toEqual([
      [0, 8],
      [8, 17],
    ]);
    expect(joined([usual(8), odd({ fake: { wallMired: 230 } }), { count: 8, fake: { wallMired: 230 } }])).toEqual([
      [0, 8],
      [8, 17],
    ]);
    expect(
      joined([usual(8), odd({ fake: { sideToSideStops: 2 } }), { count: 8, fake: { sideToSideStops: 2 } }]),
    ).toEqual([
      [0, 8],
      [8, 17],
    ]);
    expect(
      joined([usual(8), odd({ fake: { focalLengthMm: 170 } }), { count: 8, light: 1, fake: { focalLengthMm: 170 } }]),
    ).toEqual([
      [0, 8],
      [8, 17],
    ]);
  });

  it('a single odd frame goes to the side that no pause parts it from', () => {
    const paused = (before: number, after: number) => {
      const frames = trackOf(
        17,
        (i) => ({ wallLightStops: i === 8 ? -3 : i < 8 ? -1 : 0, subjectLightStops: i === 8 ? -1 : i < 8 ? 0 : 1 }),
        (i) => ({ capturedAtMs: TRACK_START_MS + 10_000 * i + (i >= 8 ? before : 0) + (i > 8 ? after : 0) }),
      );
      return joinPieces(
        [
          { start: 0, end: 8 },
          { start: 8, end: 9 },
          { start: 9, end: 17 },
        ],
        frames,
        0,
      )[0]!.end;
    };
    expect([paused(0, 600_000), paused(600_000, 0)]).toEqual([9, 8]);
  });

  it('are compared by the forty frames nearest to each other', () => {
    // Light that creeps up by half a stop over a hundred frames, then goes on from there.
    const frames = trackOf(200, (i) => ({ wallLightStops: i < 60 ? 0 : 0.5, subjectLightStops: i < 60 ? 0 : 0.5 }));
    const change = comparing(frames, 0)({ start: 0, end: 100 }, { start: 100, end: 200 });
    expect([change.wallLightStops, change.subjectLightStops]).toEqual([0, 0]);
    const early = comparing(frames, 0)({ start: 0, end: 40 }, { start: 40, end: 200 });
    expect(early.wallLightStops).toBe(0.25);
  });
});
