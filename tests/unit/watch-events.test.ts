import { describe, expect, it } from 'vitest';
import { ShootPlan } from '../../src/contracts/plan.js';
import type { WatchEvent } from '../../src/contracts/watch.js';
import { WatchEvent as WatchEventSchema } from '../../src/contracts/watch.js';
import { Teller } from '../../src/commands/watch/teller.js';
import { WatchedShoot } from '../../src/commands/watch/watched-shoot.js';
import { adviceFor } from '../../src/render/advice-words.js';
import { WatchLines } from '../../src/render/terminal-watch.js';
import { columnsOf } from '../../src/render/text.js';
import { recordingContext } from '../support/cli.js';
import { FAKE_START_MS, fakeShoot, judgeFakes, lit, times } from '../support/fake-shoot.js';
import { fakeMeasurement, type FakeFrame } from '../support/measurement.js';

const PLAN = ShootPlan.parse({ light: 'flash' });

/** Frames that come one by one; the events that each brought. */
function watched(fakes: readonly FakeFrame[], plan = PLAN): { shoot: WatchedShoot; events: WatchEvent[][] } {
  const shoot = new WatchedShoot('Hall', plan);
  const events = fakeShoot(fakes).map((input) => {
    shoot.put(`/in/${input.name}`, { ...input, name: shoot.nameOf(`/in/${input.name}`, input.name) }, false);
    return shoot.judge();
  });
  return { shoot, events };
}

const kinds = (events: readonly WatchEvent[]): string[] => events.map(({ event }) => event);

describe('what a watched shoot tells, frame by frame', () => {
  it('begins a set-up with the first frame and tells each frame once, judged as the whole shoot is', () => {
    const fakes = [...times(6), lit(-3), ...times(3)];
    const { shoot, events } = watched(fakes);
    expect(kinds(events[0] ?? [])).toEqual(['setup', 'frame']);
    expect(events.slice(1, 6).every((one) => kinds(one).join() === 'frame')).toBe(true);
    expect(events[6]).toMatchObject([{ event: 'frame', frame: { name: 'F007.jpg', verdict: 'off' } }]);
    expect(events.flat().filter(({ event }) => event === 'setup')).toHaveLength(1);
    const whole = judgeFakes(fakes);
    expect(shoot.report?.frames.map(({ verdict }) => verdict)).toEqual(whole.frames.map(({ verdict }) => verdict));
    for (const event of events.flat()) expect(WatchEventSchema.parse(event)).toEqual(event);
  });

  it('tells a light moved for good as a set-up that begins with an earlier frame, and revises that frame', () => {
    const moved = lit(-2, { sideToSideStops: 2 });
    const { shoot, events } = watched([...times(8, { sideToSideStops: 0.2 }), ...times(6, moved)]);
    const all = events.flat();
    const begun = all.flatMap((event) => (event.event === 'setup' ? [event] : []));
    expect(begun.at(-1)?.firstFrame).toBe('F009.jpg');
    expect(shoot.report?.setups).toHaveLength(2);
    // What was last told of each frame is what the report says of it now.
    const lastTold = new Map<string, string | null>();
    for (const event of all) {
      if (event.event === 'frame' || event.event === 'revised') lastTold.set(event.frame.name, event.frame.verdict);
    }
    for (const { name, verdict } of shoot.report?.frames ?? []) expect(lastTold.get(name), name).toBe(verdict);
    expect(all.some((event) => event.event === 'revised' && event.frame.name === 'F009.jpg')).toBe(true);
  });

  it('tells a frame that is gone, and one that was replaced', () => {
    const { shoot } = watched(times(4));
    expect(shoot.remove('/in/F002.jpg')).toBe('F002.jpg');
    expect(shoot.remove('/in/F002.jpg')).toBeNull();
    expect(shoot.judge()).toEqual([{ event: 'removed', name: 'F002.jpg' }]);
    const dark = { name: 'F003.jpg', measurement: fakeMeasurement({ ...lit(-2), capturedAtMs: FAKE_START_MS }) };
    shoot.put('/in/F003.jpg', { ...dark, failure: null, measurementHref: null }, false);
    expect(shoot.judge()).toContainEqual(expect.objectContaining({ event: 'frame', replaced: true }));
    expect(shoot.judge()).toEqual([]);
  });

  it('raw and JPEG of one exposure are one frame, whichever comes first', () => {
    const exposure: FakeFrame = { capturedAtMs: FAKE_START_MS };
    const jpeg = { name: 'P1.JPG', measurement: fakeMeasurement(exposure), failure: null, measurementHref: null };
    const raw = {
      ...jpeg,
      name: 'P1.NEF',
      measurement: { ...fakeMeasurement(exposure), encoding: 'scene' as const },
    };
    const jpegFirst = new WatchedShoot('Hall', PLAN);
    jpegFirst.put('/in/P1.JPG', jpeg, false);
    jpegFirst.judge();
    jpegFirst.put('/in/P1.NEF', raw, false);
    expect(jpegFirst.judge()).toContainEqual({ event: 'rendering', name: 'P1.JPG', of: 'P1.NEF' });
    const rawFirst = new WatchedShoot('Hall', PLAN);
    rawFirst.put('/in/P1.NEF', raw, false);
    rawFirst.judge();
    rawFirst.put('/in/P1.JPG', jpeg, false);
    expect(rawFirst.judge()).toEqual([{ event: 'rendering', name: 'P1.JPG', of: 'P1.NEF' }]);
    expect(rawFirst.report?.frames.map(({ name }) => name)).toEqual(['P1.NEF']);
  });

  it('compares with the reference frame as soon as it is there', () => {
    const plan = { ...PLAN, referenceFrame: 'F003.jpg' };
    const { shoot } = watched(times(2), plan);
    expect(shoot.referenceIsThere).toBe(false);
    expect(shoot.report?.plan.referenceFrame).toBeUndefined();
    expect(watched(times(3), plan).shoot.report?.plan.referenceFrame).toBe('F003.jpg');
  });

  it('keeps files apart whose frame names would meet', () => {
    const shoot = new WatchedShoot('Hall', PLAN);
    expect(shoot.nameOf('/in/a/P1.jpg', 'a/P1.jpg')).toBe('a__P1.jpg');
    expect(shoot.nameOf('/in/a__P1.jpg', 'a__P1.jpg')).toBe('a__P1~2.jpg');
    expect(shoot.nameOf('/in/a/P1.jpg', 'a/P1.jpg')).toBe('a__P1.jpg');
  });
});

describe('advice in third-stop steps', () => {
  it('undoes what the light did: two thirds of a stop too little is two steps more', () => {
    const report = judgeFakes([...times(8), lit(-2 / 3), ...times(8)]);
    const frame = report.frames[8];
    expect(frame?.verdict).toBe('off');
    if (frame === undefined) throw new Error('there is a ninth frame');
    const toldSteps = adviceFor({
      ...frame,
      flags: [{ code: 'light-changed', severity: 'fault', because: 'x' }],
      deviation: { ...frame.deviation, ofWhichLightStops: -2 / 3 },
    });
    expect(toldSteps).toEqual({ text: 'light +2 third-stop steps', thirdStopSteps: 2 });
  });

  it('says to shoot again where the light did not fire, and nothing for a consistent frame', () => {
    const report = judgeFakes([...times(8), lit(-4.5), ...times(8)]);
    const missing = report.frames[8];
    const fine = report.frames[0];
    if (missing === undefined || fine === undefined) throw new Error('there are 17 frames');
    expect(missing.flags.map(({ code }) => code)).toContain('light-missing');
    expect(adviceFor(missing)).toEqual({ text: 'shoot again: the light did not fire', thirdStopSteps: null });
    expect(adviceFor(fine)).toBeNull();
  });
});

describe('lines for people', () => {
  const { events } = watched([...times(6), lit(-3), ...times(3)]);

  it('stand under their header, one a frame, wide letters or not', () => {
    const lines = new WatchLines();
    const header = lines.header();
    const [event] = events[6] ?? [];
    if (event?.event !== 'frame') throw new Error('the seventh frame is told');
    const wide = { ...event, frame: { ...event.frame, name: '写真館七.jpg' } };
    for (const one of [event, wide]) {
      const [line = '', ...more] = lines.lines([one]);
      expect(more).toEqual([]);
      const verdictAt = columnsOf(header.slice(0, header.indexOf('verdict')));
      expect(columnsOf(line.slice(0, line.indexOf('! off')))).toBe(verdictAt);
    }
  });

  it('gather earlier frames that later ones judged otherwise', () => {
    const { events: all } = watched([...times(8, { sideToSideStops: 0.2 }), ...times(6, { sideToSideStops: 2 })]);
    const lines = all.flatMap((one) => new WatchLines().lines(one));
    const revised = lines.filter((line) => line.startsWith('by later frames: '));
    expect(revised.length).toBeGreaterThan(0);
    expect(revised[0]).toMatch(/^by later frames: F009\.jpg(, F\d+\.jpg)* now · consistent in s2, was [!?] (off|check)$/);
  }); // prettier-ignore

  it('ring a bell on a flagged frame, on a terminal only, and not when told not to', () => {
    const silent = { show: () => undefined, clear: () => undefined };
    const rings = (isTTY: boolean, flags: { bell: boolean; json?: boolean; quiet?: boolean }, told = events[6] ?? []) => {
      const context = recordingContext();
      context.stdout.isTTY = isTTY;
      new Teller(flags, context, silent).tell(told);
      return context.out().includes('\u0007');
    };
    expect(rings(true, { bell: true })).toBe(true);
    expect(rings(true, { bell: true, quiet: true })).toBe(true);
    expect(rings(true, { bell: false })).toBe(false);
    expect(rings(false, { bell: true })).toBe(false);
    expect(rings(true, { bell: true, json: true })).toBe(false);
    expect(rings(true, { bell: true }, events[5] ?? [])).toBe(false);
  }); // prettier-ignore

  it('are only what is wrong when quiet', () => {
    const context = recordingContext();
    const teller = new Teller({ bell: true, quiet: true }, context, { show: () => undefined, clear: () => undefined });
    for (const one of events) teller.tell(one);
    expect(context.out().split('\n').slice(0, -1)).toEqual([expect.stringMatching(/^F007\.jpg .*! off/)]);
  });
});
