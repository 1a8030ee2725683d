import { describe, expect, it } from 'vitest';
import { ShootPlan, type ShootPlanInput } from '../../src/contracts/plan.js';
import { buildTracks, firstPlace } from '../../src/shoot/build-setups.js';
import { factsOf, type FrameFacts } from '../../src/shoot/facts.js';
import type { LightKindDecision } from '../../src/shoot/light-kind.js';
import { sequenceOf } from '../../src/shoot/sequence.js';
import { fakeMeasurement, type FakeFrame } from '../support/measurement.js';
import { TRACK_START_MS } from '../support/track.js';

const FLASH: LightKindDecision = { kind: 'flash', shutterWeight: 0, usualTv: 0, because: 'told' };

/** So many frames, the whole picture brighter by so much. */
interface Part {
  count: number;
  light?: number;
  fake?: FakeFrame;
}

describe('frames of a track with their settings taken out', () => {
  const facts = (fakes: readonly FakeFrame[]): FrameFacts[] =>
    fakes.map((fake, i) => {
      const measurement = fakeMeasurement({ capturedAtMs: TRACK_START_MS + 10_000 * i, ...fake });
      return factsOf({ name: `F${i}`, measurement, failure: null, measurementHref: null }, measurement, i);
    });
  const settingsOf = (
    fakes: readonly FakeFrame[],
    light: Pick<LightKindDecision, 'shutterWeight' | 'usualTv'> = FLASH,
  ) => sequenceOf(facts(fakes), light, true).map(({ settingsStops }) => settingsStops);

  it('are as bright as sensitivity less aperture makes them; the shutter counts by its weight', () => {
    // ISO 100: Sv 5, f/8: Av 6, 1/125: Tv 7 on the exact scale.
    const near = (values: number[]) => values.map((value) => Math.round(value * 100) / 100);
    const fakes: FakeFrame[] = [{}, { iso: 200 }, { fNumber: 4 }, { exposureTimeSeconds: 1 / 30 }];
    expect(near(settingsOf(fakes))).toEqual([-1, 0, 1, -1]);
    const full = near(settingsOf(fakes, { shutterWeight: 1, usualTv: 0 }));
    expect(full.map((value) => near([value - full[0]!])[0])).toEqual([0, 1, 2, 2]);
    const sequence = sequenceOf(facts([{ backgroundLevelStops: -1, faceLevelStops: 0.5 }]), FLASH, true);
    expect(sequence[0]!.wallLightStops).toBeCloseTo(0, 2);
    expect(sequence[0]!.subjectLightStops).toBeCloseTo(1.5, 2);
  });

  it('take the settings of the frame before where they are unknown, and of the first known one at the start', () => {
    const values = settingsOf([{ iso: null }, { iso: 400 }, { fNumber: null }, { iso: 800 }]);
    expect([values[0], values[2]]).toEqual([values[1], values[1]]);
    expect(values[3]! - values[1]!).toBeCloseTo(1, 9);
    const known = sequenceOf(facts([{ iso: null }, { iso: 200 }, { fNumber: null }]), FLASH, true);
    expect(known.map(({ settingsKnown }) => settingsKnown)).toEqual([false, true, false]);
    expect(settingsOf([{ iso: null }])).toEqual([0]);
    // Without a shutter time the settings are known under flash alone.
    const untimed = (weight: number) =>
      sequenceOf(facts([{ exposureTimeSeconds: null }]), { shutterWeight: weight, usualTv: 0 }, true)[0]!.settingsKnown;
    expect([untimed(0), untimed(1)]).toEqual([true, false]);
  });

  it('are grouped by sitter, where that is allowed', () => {
    const other: FakeFrame = { appearance: { torsoLogRg: 0.5 } };
    const fakes = [{}, {}, {}, {}, other, other, other, other];
    const grouped = sequenceOf(facts(fakes), FLASH, true);
    expect(grouped.map(({ sitter }) => sitter)).toEqual([0, 0, 0, 0, 1, 1, 1, 1]);
    const apart = sequenceOf(facts(fakes), FLASH, false);
    expect(apart.map(({ sitter }) => sitter)).toEqual([0, 1, 2, 3, 4, 5, 6, 7]);
    expect(apart.every(({ faceAgainstAroundStops }) => faceAgainstAroundStops === null)).toBe(true);
    const odd = sequenceOf(
      facts([{}, {}, {}, { faceLevelStops: 0.2, torsoLevelStops: -0.8 }, {}, {}, {}]),
      FLASH,
      true,
    );
    expect(odd[3]!.faceAgainstAroundStops).toBeCloseTo(-0.3, 9);
    expect(odd[3]).toMatchObject({ driftStops: 0, automatic: false });
    const program = sequenceOf(facts([{ exposureProgram: 'aperture-priority' }]), FLASH, true);
    expect(program[0]!.automatic).toBe(true);
  });
});

describe('the set-ups of a shoot', () => {
  const shoot = (parts: readonly Part[], places: (i: number) => number = (i) => i): FrameFacts[] =>
    parts
      .flatMap((part) => Array.from({ length: part.count }, () => part))
      .map(({ light = 0, fake = {} }, i) => {
        const measurement = fakeMeasurement({
          capturedAtMs: TRACK_START_MS + 10_000 * places(i),
          faceLevelStops: 0.5 + light,
          torsoLevelStops: -0.5 + light,
          backgroundLevelStops: -1 + light,
          ...fake,
        });
        return factsOf(
          { name: `F${places(i)}`, measurement, failure: null, measurementHref: null },
          measurement,
          places(i),
        );
      });
  const tracks = (facts: FrameFacts[][], plan: ShootPlanInput = {}) => buildTracks(facts, ShootPlan.parse(plan), FLASH);
  const other: Part = { count: 8, fake: { sideToSideStops: 2.5 } };

  it('are numbered by the time of their first frames, over all cameras', () => {
    const even = shoot([{ count: 8 }, other], (i) => 2 * i);
    const odd = shoot([{ count: 16 }], (i) => 2 * i + 1);
    const [first, second] = tracks([odd, even]);
    expect(second!.setups.map((setup) => [setup.id, firstPlace(setup)])).toEqual([
      ['s1', 0],
      ['s3', 16],
    ]);
    expect(first!.setups.map(({ id, track }) => [id, track])).toEqual([['s2', 0]]);
    expect(second!.setups.map(({ track }) => track)).toEqual([1, 1]);
    expect(first!.usualIntervalMs).toBe(20_000);
    expect(tracks([shoot([{ count: 1 }])])[0]!.usualIntervalMs).toBeNull();
  });

  it('tell what changed from the one before; the first has none before', () => {
    const [track] = tracks([shoot([{ count: 8 }, other])]);
    const [first, second] = track!.setups;
    expect([first!.change, first!.previousId, first!.departure, first!.againId]).toEqual([null, null, null, null]);
    expect(second!.change!.sideToSideStops).toBeCloseTo(1.5, 9);
    expect(second!.previousId).toBe('s1');
    expect(second!.frames).toHaveLength(8);
  });

  it('light that changed without a new reading departs from the set-up last metered for, also over several', () => {
    const [track] = tracks([shoot([{ count: 8 }, { count: 8, light: -0.8 }, { count: 8, light: -1.6 }])]);
    const [, second, third] = track!.setups;
    expect(second!.departure!.lightStops).toBeCloseTo(-0.8, 2);
    expect([second!.departedFromId, third!.departedFromId]).toEqual(['s1', 's1']);
    expect(third!.departure!.lightStops).toBeCloseTo(-1.6, 2);
  });

  it('are as an earlier one again, the first of its kind, where that is not the one just before', () => {
    const third: Part = { count: 8, fake: { wallMired: 230, sideToSideStops: 4 } };
    const again = (parts: Part[]) => tracks([shoot(parts)])[0]!.setups.map(({ againId }) => againId);
    expect(again([{ count: 8 }, other, { count: 8 }, third, { count: 8 }])).toEqual([null, null, 's1', null, 's1']);
    expect(again([{ count: 8 }, third, other, third])).toEqual([null, null, null, 's2']);
  });

  it('are found again from three frames on', () => {
    const other: Part = { count: 8, fake: { sideToSideStops: 2.5, wallMired: 230 } };
    const third: Part = { count: 8, fake: { sideToSideStops: 4, wallMired: 130 } };
    const again = (parts: Part[]) =>
      tracks([shoot(parts)])[0]!.setups.map(({ frames, againId }) => [frames.length, againId]);
    expect(again([{ count: 8 }, third, other, { count: 3 }]).at(-1)).toEqual([3, 's1']);
    expect(again([{ count: 8 }, third, other, { count: 2 }]).at(-1)).toEqual([2, null]);
    expect(again([{ count: 2 }, third, other, { count: 8 }]).at(-1)).toEqual([8, null]);
    expect(again([{ count: 3 }, third, other, { count: 8 }]).at(-1)).toEqual([8, 's1']);
  });

  it('are not found again where neither wall nor sitter tells of the light', () => {
    const blank = (iso: number, fake: FakeFrame): Part => ({ count: 8, fake: { iso, ...fake } });
    const again = (fake: FakeFrame) => {
      const parts = [100, 200, 400, 100].map((iso) => blank(iso, fake));
      return tracks([shoot(parts)])[0]!.setups.at(-1)!.againId;
    };
    expect(again({ person: false, backgroundLevelStops: null })).toBeNull();
    // Either of them is enough.
    expect(again({ faceLevelStops: null, bodyLevelStops: null })).toBe('s1');
    expect(again({ backgroundLevelStops: null })).toBe('s1');
  });

  it('light that changed over a pause may have been metered for again', () => {
    const later = shoot([{ count: 8 }, { count: 8, light: -0.8 }], (i) => (i < 8 ? i : i + 60));
    const [, second] = tracks([later])[0]!.setups;
    expect([second!.departure?.sure, second!.departedFromId]).toEqual([false, 's1']);
    const atOnce = tracks([shoot([{ count: 8 }, { count: 8, light: -0.8 }])])[0]!.setups[1]!;
    expect(atOnce.departure!.sure).toBe(true);
  });

  it('whose light drifts on both sides of a pause have two drifts', () => {
    const tired = Array.from({ length: 40 }, (_, i) => {
      const light = -0.02 * (i % 20) + 0.01 * Math.sin(12.9 * i);
      return shoot([{ count: 1, light }], () => (i < 20 ? i : i + 60))[0]!;
    });
    const frames = tracks([tired])[0]!.frames;
    expect(
      [frames[0], frames[19], frames[20], frames[39]].map((frame) => Math.round(10 * frame!.driftStops) / 10 + 0),
    ).toEqual([0, -0.4, 0, -0.4]);
  });

  it('recognise sitters of another set-up by their looks, unless sitters are not to be compared', () => {
    const after: Part = { count: 8, light: 0.6, fake: { sideToSideStops: 2.5, appearance: { torsoLogRg: 0.12 } } };
    const change = (plan: ShootPlanInput) => tracks([shoot([{ count: 8 }, after])], plan)[0]!.setups[1]!.change!;
    const told = change({});
    expect(told.sittersShared).toBe(true);
    expect(change({ compareSitters: false }).sittersShared).toBe(false);
    const alone = tracks([shoot([{ count: 4 }])], { compareSitters: false })[0]!;
    expect(alone.setups[0]!.frames.map(({ sitter }) => sitter)).toEqual([0, 1, 2, 3]);
    expect(tracks([shoot([{ count: 4 }])])[0]!.setups[0]!.frames.map(({ sitter }) => sitter)).toEqual([0, 0, 0, 0]);
  });

  it('whose light drifts are one, and each frame tells how far it had drifted', () => {
    const drifting = shoot([{ count: 40 }]).map(
      (fact, i) => fact && shoot([{ count: 1, light: 0.02 * i + 0.01 * Math.sin(12.9 * i) }], () => i)[0]!,
    );
    const [track] = tracks([drifting]);
    expect(track!.setups).toHaveLength(1);
    expect(track!.setups[0]!.drift).toMatchObject({ first: 0, last: 39 });
    expect(track!.setups[0]!.frames[39]!.driftStops).toBeCloseTo(0.78, 1);
    expect(track!.setups[0]!.automation).toBeNull();
  });
});
