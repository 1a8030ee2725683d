import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../samples/make/random.js';
import { driftIn } from '../../src/shoot/drift-in.js';
import type { SequenceFrame } from '../../src/shoot/sequence.js';
import { wallLightsByCrop } from '../../src/shoot/wall-by-crop.js';
import type { FakeFrame } from '../support/measurement.js';
import { trackOf } from '../support/track.js';

/** Unsteady by a hundredth of a stop, so that no witness is exact. */
const shake = (i: number): number => 0.01 * Math.sin(12.9 * i);
const lit = (wall: number | null, subject: number | null): Partial<SequenceFrame> => ({
  wallLightStops: wall === null ? null : wall - 1,
  subjectLightStops: subject === null ? null : subject + 0.5,
});
/** A run over which wall and sitter gain so much, each by itself. */
const ramp = (
  count: number,
  wallStops: number | null,
  subjectStops: number | null,
  told: (i: number) => Partial<SequenceFrame> = () => ({}),
  fake: (i: number) => FakeFrame = () => ({}),
) =>
  trackOf(
    count,
    (i) => ({
      ...lit(
        wallStops === null ? null : (wallStops * i) / (count - 1) + shake(i),
        subjectStops === null ? null : (subjectStops * i) / (count - 1) + shake(i + 7),
      ),
      ...told(i),
    }),
    fake,
  );

describe('a drift of the light', () => {
  it('is the slope that wall and sitters tell alike', () => {
    for (const stops of [0.5, -0.5]) {
      const drift = driftIn(ramp(40, stops, stops))!;
      expect(drift.witnesses).toBe('both');
      expect(drift.stopsPerFrame).toBeCloseTo(stops / 39, 3);
      expect(drift.errorStopsPerFrame).toBeGreaterThan(0);
      expect(drift.errorStopsPerFrame * 39).toBeLessThan(0.02);
    }
  });

  it('takes twelve frames at least', () => {
    expect(driftIn(ramp(12, 0.5, 0.5))).not.toBeNull();
    expect(driftIn(ramp(11, 0.5, 0.5))).toBeNull();
  });

  it('is 0.22 stop over the run where both tell it, 0.3 where one does alone', () => {
    const found = (wall: number | null, subject: number | null) => driftIn(ramp(40, wall, subject))?.witnesses ?? null;
    expect([found(0.25, 0.25), found(0.2, 0.2), found(-0.25, -0.25)]).toEqual(['both', null, 'both']);
    expect([found(0.33, null), found(0.27, null), found(-0.33, null)]).toEqual(['wall', null, 'wall']);
    expect([found(null, 0.33), found(null, 0.27), found(null, -0.33)]).toEqual(['subject', null, 'subject']);
    expect(found(null, null)).toBeNull();
  });

  it('is none where wall and sitters do not agree; its rate is the wall’s', () => {
    expect(driftIn(ramp(40, 0.5, 0))).toBeNull();
    expect(driftIn(ramp(40, 0.5, -0.5))).toBeNull();
    expect(driftIn(ramp(40, 0, 0.5))).toBeNull();
    // They may differ by 0.3 of the slope and 2.5 joint errors.
    const drift = driftIn(ramp(40, 0.5, 0.37))!;
    expect(drift.stopsPerFrame).toBeCloseTo(0.5 / 39, 3);
    expect(driftIn(ramp(40, 0.5, 0.3))).toBeNull();
  });

  it('is none where a step or two tell the frames better', () => {
    const stepped = (steps: number) => (i: number) =>
      lit((0.6 / steps) * Math.floor(((steps + 1) * i) / 40) + shake(i), null);
    expect(driftIn(trackOf(40, stepped(1)))).toBeNull();
    expect(driftIn(trackOf(40, stepped(2)))).toBeNull();
    // Sitters alone step as well.
    const sitter = (i: number) => ({ ...lit(null, i < 20 ? 0 : 0.6), wallLightStops: null });
    expect(driftIn(trackOf(40, sitter))).toBeNull();
  });

  it('is none where the sitters alone tell of stairs', () => {
    const stairs = (i: number) => 0.3 * Math.floor(i / 14) + shake(i);
    expect(driftIn(trackOf(42, (i) => lit(null, stairs(i))))).toBeNull();
    const inTurn = (i: number) => ({
      ...lit(null, stairs(i) + (Math.floor(i / 2) % 2)),
      sitter: Math.floor(i / 2) % 2,
    });
    expect(driftIn(trackOf(42, inTurn))).toBeNull();
    const ramped = (i: number) => ({
      ...lit(null, 0.6 * (i / 41) + shake(i) + (Math.floor(i / 2) % 2)),
      sitter: Math.floor(i / 2) % 2,
    });
    expect(driftIn(trackOf(42, ramped))).toMatchObject({ witnesses: 'subject' });
    expect(driftIn(trackOf(42, (i) => (i === 20 ? lit(null, null) : ramped(i))))).toMatchObject({
      witnesses: 'subject',
    });
  });

  it('stands out of its own error: by four where both tell it, by six where one does', () => {
    // Scatter of 0.2 over forty frames: the slope's error over the run is about 0.2 sqrt(12 / 40) = 0.11.
    const random = seededRandom('scatter');
    const scatter = Array.from({ length: 80 }, () => random.normal());
    const noise = (i: number, by: number) => by * scatter[i]!;
    const both = (stops: number) => (i: number) =>
      lit(stops * (i / 39) + noise(i, 0.2), stops * (i / 39) + noise(i + 40, 0.2));
    expect(driftIn(trackOf(40, both(0.3)))).toBeNull();
    const told = driftIn(trackOf(40, both(0.9)))!;
    expect(told.stopsPerFrame).toBeGreaterThan(4 * told.errorStopsPerFrame);
    const alone = (by: number) => driftIn(trackOf(40, (i) => lit(0.6 * (i / 39) + noise(i, by), null)));
    expect([alone(0.05)?.witnesses, alone(0.25)]).toEqual(['wall', null]);
  });

  it('is read of each sitter only against themselves', () => {
    const levels = [0, 1.2, -0.8];
    const inTurn = (i: number) => {
      const sitter = Math.floor(i / 4) % 3;
      return { ...lit(0.5 * (i / 39) + shake(i), levels[sitter]! + 0.5 * (i / 39) + shake(i + 7)), sitter };
    };
    expect(driftIn(trackOf(40, inTurn))).toMatchObject({ witnesses: 'both' });
    const alone = driftIn(trackOf(40, (i) => ({ ...inTurn(i), wallLightStops: null })))!;
    expect(alone.witnesses).toBe('subject');
    expect(alone.stopsPerFrame).toBeCloseTo(0.5 / 39, 2);
    // Ever deeper skin is no drift.
    const deeper = (i: number) => ({ ...lit(shake(i), -0.3 * Math.floor(i / 8)), sitter: Math.floor(i / 8) });
    expect(driftIn(trackOf(40, deeper))).toBeNull();
    expect(driftIn(trackOf(40, (i) => ({ ...deeper(i), wallLightStops: null })))).toBeNull();
  });

  it('is read of faces and bodies apart, and not of whole frames', () => {
    const turned = (i: number): FakeFrame => (i % 3 === 0 ? { faceLevelStops: null, bodyLevelStops: 0 } : {});
    const told = (i: number) => lit(null, 0.5 * (i / 39) - (i % 3 === 0 ? 2 : 0) + shake(i));
    expect(driftIn(trackOf(40, told, turned))).toMatchObject({ witnesses: 'subject' });
    expect(
      driftIn(
        ramp(
          40,
          null,
          0.5,
          () => ({}),
          () => ({ person: false }),
        ),
      ),
    ).toBeNull();
  });

  it('a witness who is too unsure is not asked', () => {
    const wild = (i: number) => lit(0.5 * (i / 39) + shake(i), 1.5 * Math.sin(5.1 * i * i));
    expect(driftIn(trackOf(40, wild))).toMatchObject({ witnesses: 'wall' });
    const wall = (i: number) => lit(2 * Math.sin(5.1 * i * i), 0.5 * (i / 39) + shake(i));
    const drift = driftIn(trackOf(40, wall));
    if (drift !== null) expect(drift.witnesses).toBe('subject');
  });

  it('few odd frames change little', () => {
    const odd = driftIn(ramp(40, 0.5, 0.5, (i) => (i === 9 || i === 10 || i === 30 ? lit(-3, -3) : {})))!;
    expect(odd.stopsPerFrame).toBeCloseTo(0.5 / 39, 3);
  });

  it('frames with settings that were touched have no say; automatic ones always vary', () => {
    // A third of the frames a stop over, with a light that stood.
    const touched = (i: number) => (i % 3 === 0 ? { settingsStops: 1, ...lit(0, 0) } : {});
    expect(driftIn(ramp(40, 0.5, 0.5, touched))!.stopsPerFrame).toBeCloseTo(0.5 / 39, 3);
    // So many that there is no one drift, where settings within a fifth of a stop of the usual ones count.
    const most = (settingsStops: number) => (i: number) => (i % 5 > 2 ? { settingsStops, ...lit(0, 0) } : {});
    for (const settingsStops of [0.25, -0.25])
      expect(driftIn(ramp(40, 0.5, 0.5, most(settingsStops)))!.stopsPerFrame).toBeCloseTo(0.5 / 39, 3);
    expect(driftIn(ramp(40, 0.5, 0.5, most(0.15)))?.stopsPerFrame ?? 0).toBeLessThan(0.01);
    const automatic = (i: number) => ({ settingsStops: Math.sin(i), automatic: true });
    expect(driftIn(ramp(40, 0.5, 0.5, automatic))!.witnesses).toBe('both');
  });

  it('the wall is read without a trend of the framing, which shows another part of it', () => {
    // Ever closer: the head doubles over the run, and the wall behind it is 0.4 stop brighter a doubling.
    const closer = (i: number): FakeFrame => ({ faceHeightShare: 0.08 * 2 ** (i / 39) });
    expect(driftIn(ramp(40, 0.4, null, () => ({}), closer))).toBeNull();
    expect(driftIn(ramp(40, 0.4, null))).not.toBeNull();
    // Crops that come and go are mere noise, the trend is the light's.
    const mixed = (i: number): FakeFrame => ({ faceHeightShare: i % 2 === 0 ? 0.08 : 0.16 });
    expect(driftIn(ramp(40, 0.4, null, () => ({}), mixed))).not.toBeNull();
  });

  it('long runs are thinned out, which changes no drift', () => {
    for (const count of [97, 300]) {
      expect(driftIn(ramp(count, 0.5, 0.5))!.stopsPerFrame * (count - 1)).toBeCloseTo(0.5, 1);
      expect(driftIn(ramp(count, null, -0.5))!.stopsPerFrame * (count - 1)).toBeCloseTo(-0.5, 1);
    }
  });

  it('an arch goes up and comes down: no drift', () => {
    const arch = (i: number) => lit(0.8 * Math.sin((Math.PI * i) / 39), 0.8 * Math.sin((Math.PI * i) / 39));
    expect(driftIn(trackOf(40, arch))).toBeNull();
    const late = (i: number) => lit(i < 20 ? 0.3 : i / 80, null);
    expect(driftIn(trackOf(40, late))).toBeNull();
  });
});

describe('the wall with the framing taken out', () => {
  const walls = (crops: (number | null)[], levels: (number | null)[]) =>
    wallLightsByCrop(
      trackOf(
        crops.length,
        (i) => ({ wallLightStops: levels[i]! }),
        (i) => (crops[i] === null ? { person: false } : { faceHeightShare: 2 ** crops[i]! }),
      ),
    );
  const round = (values: readonly (number | null)[]) =>
    values.map((v) => (v === null ? null : Math.round(v * 1e6) / 1e6));

  it('is level where the wall’s brightness goes with the crop, as at the usual crop', () => {
    const crops = [-4, -3.5, -3, -3, -2.5, -2];
    expect(
      round(
        walls(
          crops,
          crops.map((crop) => 0.3 * crop),
        ),
      ),
    ).toEqual(crops.map(() => -0.9));
    // A change of the light beyond it stays.
    const changed = walls(
      crops,
      crops.map((crop, i) => 0.3 * crop + (i === 2 ? 1 : 0)),
    );
    expect(changed[2]! - changed[3]!).toBeCloseTo(1, 6);
  });

  it('is as it was where nothing tells a slope: three frames, or crops that hardly differ', () => {
    expect(walls([-4, -3, -2], [0, 0.3, 0.6])).toEqual([0, 0.3, 0.6]);
    expect(round(walls([-4, -3.4, -3, -2], [0, 0.18, 0.3, 0.6]))).toEqual([0.24, 0.24, 0.24, 0.24]);
    expect(walls([-3, -2.9, -2.8, -2.51], [0, 0.3, 0.6, 1])).toEqual([0, 0.3, 0.6, 1]);
    expect(walls([-3, -2.9, -2.8, -2.5], [0, 0.3, 0.6, 1])).not.toEqual([0, 0.3, 0.6, 1]);
  });

  it('has no steeper slope than half a stop a doubling', () => {
    const crops = [-4, -3, -3, -3, -2];
    expect(
      round(
        walls(
          crops,
          crops.map((crop) => 2 * crop),
        ),
      ),
    ).toEqual([-7.5, -6, -6, -6, -4.5]);
    expect(
      round(
        walls(
          crops,
          crops.map((crop) => -2 * crop),
        ),
      ),
    ).toEqual([7.5, 6, 6, 6, 4.5]);
  });

  it('leaves frames without a crop or a wall as they are', () => {
    expect(round(walls([-4, -3.5, null, -3, -2.5, -2], [-1.2, -1.05, 7, -0.9, null, -0.6]))).toEqual([
      -0.975,
      -0.975,
      7,
      -0.975,
      null,
      -0.975,
    ]);
  });

  it('reads long set-ups from some of their frames alone', () => {
    const crops = Array.from({ length: 200 }, (_, i) => -4 + (i % 5) / 2);
    for (const value of walls(
      crops,
      crops.map((crop) => 0.2 * crop),
    ))
      expect(value).toBeCloseTo(-0.6, 6);
  });
});
