import { describe, expect, it } from 'vitest';
import { ShootPlan } from '../../src/contracts/plan.js';
import type { ArrangementChange } from '../../src/shoot/arrangement-change.js';
import type { Track } from '../../src/shoot/build-setups.js';
import { cameraClocksOf, clockAhead } from '../../src/shoot/clocks/camera-clocks.js';
import { clockEventsOf, isPlain, mayBeOne, type ClockEvent } from '../../src/shoot/clocks/clock-events.js';
import { durationText } from '../../src/shoot/clocks/clock-text.js';
import { findOffset } from '../../src/shoot/clocks/find-offset.js';
import { clocksWithoutFrames, plannedClockOf } from '../../src/shoot/clocks/planned-clocks.js';
import { sequenceFrame } from '../support/frame-context.js';
import { fakeMeasurement } from '../support/measurement.js';

/* Two cameras see the same moments; where one clock runs ahead by a number said here, that number has to be found. */
const MINUTE = 60_000;
const light = (wallStops: number | null, mired: number | null = 0) => ({ wallStops, mired });
const event = (minute: number, change: ClockEvent['light'], lastsMs = 20_000): ClockEvent => ({
  beforeMs: minute * MINUTE,
  afterMs: minute * MINUTE + lastsMs,
  light: change,
});
const later = (events: readonly ClockEvent[], ms: number): ClockEvent[] =>
  events.map((one) => ({ ...one, beforeMs: one.beforeMs + ms, afterMs: one.afterMs + ms }));

/** Uneven times and unlike changes, so that only one offset fits. */
const SEEN = [
  event(0, light(1)),
  event(7, light(-2)),
  event(19, light(0.5, 40)),
  event(40, null),
  event(44, light(-1.5)),
];

describe('moments that both cameras saw', () => {
  it('give the offset of the clocks, with the events that it rests on', () => {
    for (const ahead of [0, 3_600_000, -200_000])
      expect(findOffset(SEEN, later(SEEN, ahead))).toEqual({ aheadMs: ahead, errorMs: 1000, events: 5, plain: 4 });
  });

  it('need three, two of them plain, and half of the plain ones of whoever saw fewer', () => {
    const [a, b, , pause] = SEEN as [ClockEvent, ClockEvent, ClockEvent, ClockEvent];
    expect(findOffset([a, b], later([a, b], 5000))).toBeNull();
    expect(findOffset([a, b, pause], later([a, b, pause], 5000))).toMatchObject({ aheadMs: 5000, events: 3, plain: 2 });
    const others = [event(-300, light(3)), event(-250, light(-3.2)), event(-200, light(5))];
    const apart = [event(300, light(8)), event(350, light(-8)), event(420, light(12))];
    expect(findOffset([...others.slice(1), a, b, pause], later([a, b, pause, ...apart.slice(1)], 5000))).toMatchObject({
      plain: 2,
    });
    expect(findOffset([...others, a, b, pause], later([a, b, pause, ...apart], 5000))).toBeNull();
    expect(findOffset([], SEEN)).toBeNull();
    expect(findOffset(SEEN, [])).toBeNull();
  });

  it('leave it open where another offset explains nearly as much', () => {
    const even = [0, 10, 20, 30, 40, 50, 60].map((minute) => event(minute, light(1)));
    expect(findOffset(even, later(even, 0))).toBeNull();
    const known = [...even, event(85, light(-2)), event(97, light(3)), event(104, light(-3)), event(119, light(2))];
    expect(findOffset(known, later(known, 0))).toMatchObject({ aheadMs: 0, events: 11 });
  });

  it('are known no better than their edges scatter: sqrt(pi / 2) of the spread, over the root of their number', () => {
    const shaken = SEEN.map((one, i) => ({ ...one, beforeMs: one.beforeMs + (i % 2 === 0 ? 10_000 : -10_000) }));
    const found = findOffset(SEEN, shaken);
    // Edges: three of +10 s, two of -10 s, five of 0; the median 0, half of them 10 s away: MAD 5 s.
    expect(found?.aheadMs).toBe(0);
    expect(found?.errorMs).toBeCloseTo((Math.sqrt(Math.PI / 2) * 1.482602 * 5000) / Math.sqrt(10), 0);
  });

  it('are not the same where what both read differs', () => {
    expect(mayBeOne(event(0, light(1)), event(0, light(1.35 + 0.33)))).toBe(true);
    expect(mayBeOne(event(0, light(1)), event(0, light(1.9)))).toBe(false);
    expect(mayBeOne(event(0, light(1)), event(0, light(-1)))).toBe(false);
    expect(mayBeOne(event(0, light(1)), event(0, light(null)))).toBe(true);
    expect(mayBeOne(event(0, light(1, 0)), event(0, light(1, 15)))).toBe(true);
    expect(mayBeOne(event(0, light(1, 0)), event(0, light(1, 16)))).toBe(false);
    expect(mayBeOne(event(0, light(1, null)), event(0, light(1, 16)))).toBe(true);
    expect(mayBeOne(event(0, null), event(0, null))).toBe(true);
    expect(mayBeOne(event(0, null), event(0, light(1)))).toBe(false);
  });

  it('are plain where the wall moved by 0.28 stop or the colour by 18 mired', () => {
    expect(isPlain(event(0, light(-0.28)))).toBe(true);
    expect(isPlain(event(0, light(0.27)))).toBe(false);
    expect(isPlain(event(0, light(null, -18)))).toBe(true);
    expect(isPlain(event(0, light(null, 17)))).toBe(false);
    expect(isPlain(event(0, light(null, null)))).toBe(false);
    expect(isPlain(event(0, null))).toBe(false);
  });
});

const change = (wallLightStops: number | null, mired: number | null = 0) =>
  ({ wallLightStops, mired }) as ArrangementChange;

/** A camera's set-ups, each frames at minutes; from the second on with its change. */
function track(
  camera: string,
  setups: readonly { minutes: readonly number[]; change?: ArrangementChange }[],
  aheadMs = 0,
): Track {
  const made = setups.map(({ minutes, change: to }, i) => ({
    change: i === 0 ? null : (to ?? null),
    frames: minutes.map((minute) =>
      sequenceFrame({ camera, capturedAtMs: 1_780_000_000_000 + minute * MINUTE + aheadMs }),
    ),
  }));
  return {
    frames: made.flatMap(({ frames }) => frames),
    setups: made as unknown as Track['setups'],
    usualIntervalMs: 10_000,
  };
}

describe('what a camera’s frames tell of such moments', () => {
  const at = (minute: number): number => 1_780_000_000_000 + minute * MINUTE;

  it('set-ups that begin, with the change of light, and pauses inside of them', () => {
    const seen = clockEventsOf(
      track('A', [{ minutes: [0, 0.2, 5, 5.2] }, { minutes: [6, 6.2], change: change(1, 20) }]),
    );
    expect(seen).toEqual([
      { beforeMs: at(0.2), afterMs: at(5), light: null },
      { beforeMs: at(5.2), afterMs: at(6), light: { wallStops: 1, mired: 20 } },
    ]);
  });

  it('none of frames without a time, and forty at most', () => {
    const timeless = track('A', [{ minutes: [0] }, { minutes: [6], change: change(1) }]);
    for (const frame of timeless.frames) frame.facts.epochMs = null;
    expect(clockEventsOf(timeless)).toEqual([]);
    const many = track(
      'A',
      Array.from({ length: 60 }, (_, i) => ({ minutes: [5 * i], change: change(1) })),
    );
    expect(clockEventsOf(many)).toHaveLength(40);
  });
});

describe('the clocks of a shoot', () => {
  const SETUPS = [
    { minutes: [0, 0.2, 0.4] },
    { minutes: [3, 3.2, 3.4], change: change(1) },
    { minutes: [9, 9.2, 9.4], change: change(-2) },
    { minutes: [20, 20.2, 20.4], change: change(0.6, 30) },
    { minutes: [26, 26.2, 26.4], change: change(-1) },
  ];
  const plan = ShootPlan.parse({});
  const clocks = (aheadMs: number, told = plan) =>
    cameraClocksOf([track('A', [...SETUPS, { minutes: [27, 27.2] }]), track('B', SETUPS, aheadMs)], told);

  it('are told against the camera with most frames: ahead, behind, or agreeing', () => {
    expect(clocks(3_600_000)).toMatchObject([
      { camera: 'Maker B', against: 'Maker A', frames: 15, from: 'found', aheadSeconds: 3600, uncertaintySeconds: 1 },
    ]);
    expect(clocks(3_600_000)[0]?.because).toBe(
      'The clock of Maker B runs 1 h ahead of that of Maker A (± 1 s, by 4 changes of light that both cameras saw, as after a missed change to or from summer time or in another zone); frames are ordered with that taken off. Which of the two is right the frames do not tell.',
    );
    expect(clocks(-200_000)[0]).toMatchObject({ from: 'found', aheadSeconds: -200 });
    expect(clocks(-200_000)[0]?.because).toMatch(
      /runs 3 min 20 s behind that of Maker A \(± 1 s, by 4 changes of light that both cameras saw\)/,
    );
    expect(clocks(30_000)[0]).toMatchObject({ from: 'found', aheadSeconds: 0 });
    expect(clocks(30_000)[0]?.because).toBe(
      'The clocks of Maker B and Maker A agree, by 4 changes of light that both cameras saw.',
    );
    expect(clocks(31_000)[0]).toMatchObject({ aheadSeconds: 31 });
  });

  it('are taken for a zone where they stand within 15 s of quarters of an hour, from half an hour to 26 h', () => {
    expect(clocks(3_614_000)[0]).toMatchObject({ aheadSeconds: 3600 });
    expect(clocks(3_616_000)[0]).toMatchObject({ aheadSeconds: 3616 });
    expect(clocks(905_000)[0]).toMatchObject({ aheadSeconds: 905 });
    expect(clocks(-1_805_000)[0]).toMatchObject({ aheadSeconds: -1800 });
    expect(clocks(26 * 3_600_000 + 5000)[0]).toMatchObject({ aheadSeconds: 93_600 });
    expect(clocks(26.25 * 3_600_000 + 5000)[0]).toMatchObject({ aheadSeconds: 94_505 });
  });

  it('are not known where too little tells, and none where there is one camera', () => {
    const few = cameraClocksOf([track('A', SETUPS), track('B', SETUPS.slice(0, 2))], plan);
    expect(few[0]).toMatchObject({ from: 'unknown', aheadSeconds: null, uncertaintySeconds: null });
    expect(few[0]?.because).toMatch(/^Too little that both saw tells whether the clocks of Maker B and Maker A agree:/);
    expect(cameraClocksOf([track('A', SETUPS)], plan)).toEqual([]);
    expect(cameraClocksOf([], plan)).toEqual([]);
  });

  it('are the plan’s where it tells them', () => {
    const told = (aheadSeconds: number) =>
      clocks(0, ShootPlan.parse({ cameraClocks: [{ camera: 'B', aheadSeconds }] }));
    expect(told(90)).toMatchObject([{ from: 'plan', aheadSeconds: 90, uncertaintySeconds: 0 }]);
    expect(told(90)[0]?.because).toBe('The plan says that the clock of Maker B is 1 min 30 s ahead.');
    expect(told(-90)[0]?.because).toBe('The plan says that the clock of Maker B is 1 min 30 s behind.');
  });

  it('come by name, and one camera’s tracks count as one', () => {
    const three = cameraClocksOf(
      [track('C', SETUPS), track('A', [...SETUPS, { minutes: [27] }]), track('B', SETUPS)],
      plan,
    );
    expect(three.map(({ camera }) => camera)).toEqual(['Maker B', 'Maker C']);
    const again = cameraClocksOf(
      [track('A', [...SETUPS, { minutes: [27] }]), track('B', SETUPS), track('B', SETUPS.slice(0, 1))],
      plan,
    );
    expect(again).toMatchObject([{ camera: 'Maker B', frames: 18 }]);
    const nameless = track('A', SETUPS);
    for (const { facts } of nameless.frames)
      Object.assign(facts.measurement.exposure, { cameraMake: null, cameraModel: null });
    expect(cameraClocksOf([nameless, track('B', SETUPS)], plan)).toEqual([]);
  });

  it('are taken off each frame: the plan’s first, then what was found', () => {
    const found = clocks(3_600_000);
    const frame = (camera: string) => ({
      name: 'x',
      measurement: fakeMeasurement({ camera }),
      failure: null,
      measurementHref: null,
    });
    expect(clockAhead(plan, found)(frame('B'))).toBe(3_600_000);
    expect(clockAhead(plan, found)(frame('A'))).toBe(0);
    expect(clockAhead(plan, found)({ ...frame('B'), measurement: null })).toBe(0);
    const planned = ShootPlan.parse({ cameraClocks: [{ camera: 'B', aheadSeconds: -5 }] });
    expect(clockAhead(planned, found)(frame('B'))).toBe(-5000);
    expect(clockAhead(plan, [{ ...(found[0] as (typeof found)[0]), from: 'unknown' }])(frame('B'))).toBe(0);
  });
});

describe('a clock that the plan tells', () => {
  it('is of the model, the serial number, or all that the file tells', () => {
    const clock = { camera: '', aheadSeconds: 7 };
    const measurement = fakeMeasurement({ camera: 'Hall' });
    measurement.exposure.cameraSerial = '123';
    const of = (camera: string) =>
      plannedClockOf(ShootPlan.parse({ cameraClocks: [{ ...clock, camera }] }), measurement)?.aheadSeconds;
    expect([of('Hall'), of('123'), of('Maker Hall 123'), of('Maker')]).toEqual([7, 7, 7, undefined]);
    expect(plannedClockOf(ShootPlan.parse({}), measurement)).toBeNull();
  });

  it('of a camera that no frame is of is named', () => {
    const told = ShootPlan.parse({ cameraClocks: ['Hall', 'Nave'].map((camera) => ({ camera, aheadSeconds: 1 })) });
    const frames = [
      { name: 'x', measurement: fakeMeasurement({ camera: 'Hall' }), failure: null, measurementHref: null },
      { name: 'y', measurement: null, failure: null, measurementHref: null },
    ];
    expect(clocksWithoutFrames(told, frames)).toEqual(['Nave']);
    expect(clocksWithoutFrames(ShootPlan.parse({}), frames)).toEqual([]);
  });
});

describe('a duration in words', () => {
  it('has its parts of days, hours, minutes and seconds, without those that are nought', () => {
    expect([0, 0.4, 59.6, 3600, -3661, 86_400, 90_061, 172_805].map(durationText)).toEqual([
      '0 s',
      '0 s',
      '1 min',
      '1 h',
      '1 h 1 min 1 s',
      '1 d',
      '1 d 1 h 1 min 1 s',
      '2 d 5 s',
    ]);
  });
});
