import { describe, expect, it } from 'vitest';
import type { AppearanceFacts } from '../../src/shoot/facts.js';
import { groupSitters, type SeenFrame } from '../../src/shoot/group-sitters.js';
import { faceAround } from '../../src/shoot/same-sitter-around.js';

interface Seen {
  look?: Partial<AppearanceFacts>;
  face?: number | null;
  wall?: number | null;
}
const frame = ({ look, face = 0.5, wall = -1 }: Seen = {}): SeenFrame => ({
  appearance: {
    torsoMinusSkinLogRg: 0,
    torsoMinusSkinLogBg: 0,
    torsoMinusFaceStops: -1,
    skinLogRg: 0.6,
    skinLogBg: -0.5,
    cropLog2: -3,
    ...look,
  },
  faceLightStops: face,
  wallLightStops: wall,
});
const some = (count: number, seen: Seen = {}): SeenFrame[] => Array.from({ length: count }, () => frame(seen));
/** Somebody in other clothes, three usual scatters away. */
const OTHER: Seen = { look: { torsoMinusSkinLogRg: 0.3 } };
const numbers = (...groups: SeenFrame[][]) => groupSitters(groups.flat(), true).join('');

describe('the sitters of a track', () => {
  it('are runs of frames that look alike, and the same number when they come again', () => {
    expect(numbers(some(4), some(4, OTHER), some(4))).toBe('000011110000');
    expect(numbers(some(4), some(4, { look: { skinLogRg: 1.2 } }), some(3, OTHER))).toBe('00001111222');
    expect(groupSitters(some(4), false)).toEqual([0, 1, 2, 3]);
    expect(groupSitters([], true)).toEqual([]);
  });

  it('are one run up to two scatters of any feature', () => {
    expect(numbers(some(5), some(5, { look: { torsoMinusSkinLogRg: 0.19 } }))).toBe('0000000000');
    expect(numbers(some(5), some(5, { look: { torsoMinusSkinLogRg: 0.21 } }))).toBe('0000011111');
    expect(
      numbers(
        some(3),
        some(3, {
          look: { torsoMinusSkinLogRg: null, torsoMinusSkinLogBg: null, torsoMinusFaceStops: null, skinLogRg: null },
        }),
      ),
    ).toBe('000123');
  });

  it('come again where medians are within 0.9, and the face stands before the wall as it stood, within 0.2 stop', () => {
    const again = (seen: Seen) => numbers(some(4), some(4, OTHER), some(4, seen)).slice(8);
    expect(again({ look: { torsoMinusSkinLogBg: 0.1 } })).toBe('0000');
    expect(again({ look: { torsoMinusSkinLogBg: 0.115 } })).toBe('2222');
    expect(again({ face: 0.69 })).toBe('0000');
    expect(again({ face: 0.71 })).toBe('2222');
    expect(again({ face: 1.5, wall: 0 })).toBe('0000');
    expect(again({ wall: null })).toBe('2222');
    expect(again({ face: null })).toBe('2222');
  });

  it('of whom thirty are remembered', () => {
    const people = (count: number) =>
      Array.from({ length: count }, (_, k) => some(2, { look: { torsoMinusSkinLogRg: 0.5 * (k + 1) } }));
    const last = (count: number) => groupSitters([...some(2), ...people(count).flat(), ...some(2)], true).at(-1);
    expect([last(29), last(30)]).toEqual([0, 31]);
  });

  it('keep one or two odd frames before another wall, and three begin somebody else', () => {
    const odd: Seen = { ...OTHER, wall: -2, face: -0.5 };
    expect(numbers(some(5), some(1, odd), some(5))).toBe('00000000000');
    expect(numbers(some(5), some(2, odd), some(5))).toBe('000000000000');
    expect(numbers(some(5), some(3, odd), some(5))).toBe('0000011100000');
    // The last frame of all is not between two of one sitter.
    expect(numbers(some(5), some(1, odd))).toBe('000001');
    // Before the same wall somebody else is somebody else.
    expect(numbers(some(5), some(1, OTHER), some(5))).toBe('00000100000');
    expect(numbers(some(5), some(1, { ...OTHER, wall: -1.31 }), some(5))).toBe('00000000000');
    expect(numbers(some(5), some(1, { ...OTHER, wall: -1.29 }), some(5))).toBe('00000100000');
  });

  it('keep an odd frame in the same clothes, if the face is no other than a shade turned away', () => {
    // Skin tinted by two scatters and more, the clothes against it as before.
    const tinted: Seen = { look: { skinLogRg: 1 } };
    expect(numbers(some(5), some(1, tinted), some(5))).toBe('00000000000');
    expect(numbers(some(5), some(1, { look: { skinLogRg: 1, torsoMinusSkinLogRg: 0.11 } }), some(5))).toBe(
      '00000100000',
    );
    expect(numbers(some(5), some(1, { look: { skinLogRg: 1, torsoMinusSkinLogBg: -0.13 } }), some(5))).toBe(
      '00000100000',
    );
    expect(numbers(some(5), some(1, { look: { torsoMinusFaceStops: -0.35 } }), some(5))).toBe('00000000000');
    expect(numbers(some(5), some(1, { look: { torsoMinusFaceStops: -0.25 } }), some(5))).toBe('00000100000');
    // Two such frames are not odd ones, with the wall as it was.
    expect(numbers(some(5), some(2, tinted), some(5))).toBe('000001100000');
  });

  it('cannot gain or lose 1.4 stops before the same wall', () => {
    const stepped = (face: number, wall = -1) => numbers(some(5), some(1, { face, wall }), some(5));
    expect(stepped(0.5 - 1.39)).toBe('00000000000');
    expect(stepped(0.5 - 1.41)).toBe('00000100000');
    expect(stepped(0.5 + 1.41)).toBe('00000100000');
    // Where the wall went with it, the light did.
    expect(stepped(0.5 - 3, -4)).toBe('00000000000');
    expect(numbers(some(5), [frame({ face: -1.5, wall: null })], some(5))).toBe('00000000000');
  });

  it('whose face steps by 0.35 and the wall not: one odd frame that looks the same belongs to the run', () => {
    const look = (torsoMinusSkinLogRg: number): Seen => ({ face: 0, look: { torsoMinusSkinLogRg } });
    expect(numbers(some(5), some(1, look(0.11)), some(5))).toBe('00000000000');
    expect(numbers(some(5), some(1, look(0.13)), some(5))).toBe('00000100000');
    // Of a run of two nothing is known yet.
    expect(numbers(some(3), some(1, look(0.11)), some(5))).toBe('000000000');
    expect(numbers(some(2), some(1, look(0.11)), some(5))).toBe('00100000');
    expect(numbers(some(5, OTHER), some(2), some(1, look(0.11)), some(5))).toBe('0000011211111');
  });

  it('whose face steps for good go on only where they surely look the same', () => {
    const other = (torsoMinusSkinLogRg: number): Seen => ({ face: -0.2, look: { torsoMinusSkinLogRg } });
    expect(numbers(some(5), some(5, other(0.04)))).toBe('0000000000');
    expect(numbers(some(5), some(5, other(0.06)))).toBe('0000011111');
    expect(numbers(some(5), some(3, other(0.04)))).toBe('00000000');
    expect(numbers(some(5), some(2, other(0.04)))).toBe('0000011');
    expect(numbers(some(5), some(5, { face: 0.16, look: { torsoMinusSkinLogRg: 0.06 } }))).toBe('0000000000');
    // The wall stepped as far: other light on the same sitter.
    expect(numbers(some(5), some(5, { ...other(0.1), wall: -1.7 }))).toBe('0000000000');
    // The wall moved and the face did not.
    expect(numbers(some(5), some(5, { wall: -1.7, look: { torsoMinusSkinLogRg: 0.1 } }))).toBe('0000000000');
  });

  it('are followed by the medians of their latest nine frames', () => {
    // Clothes that drift by a scatter every few frames, as under a colour that turns.
    const turning = Array.from({ length: 40 }, (_, i) => frame({ look: { torsoMinusSkinLogRg: 0.02 * i } }));
    expect(new Set(groupSitters(turning, true))).toEqual(new Set([0]));
    const quick = Array.from({ length: 40 }, (_, i) => frame({ look: { torsoMinusSkinLogRg: 0.06 * i } }));
    expect(new Set(groupSitters(quick, true)).size).toBeGreaterThan(2);
  });

  it('framed now close, now full length, are one: an odd face is held against frames that are framed alike', () => {
    const close: Seen = { look: { cropLog2: -2, torsoMinusFaceStops: -0.6 } };
    const full: Seen = { look: { cropLog2: -4, torsoMinusFaceStops: -1.2 } };
    const mixed = (odd: Seen) => numbers(some(4, full), some(2, close), some(2, full), some(1, odd), some(5, full));
    const odd = { look: { cropLog2: -2, torsoMinusFaceStops: -0.6 }, face: 0 };
    expect(mixed(odd)).toMatch(/^0+$/);
    expect(numbers(some(8, full), some(1, odd), some(5, full))).toBe('00000000100000');
  });
});

describe('the face in the frames around', () => {
  const same = (count: number) => Array.from({ length: count }, () => 0);
  const around = (frames: SeenFrame[], sitters = same(frames.length)) => faceAround(frames, sitters);
  const middle = (frames: SeenFrame[], sitters?: number[]) => around(frames, sitters)[Math.floor(frames.length / 2)];
  const with_ = (odd: Seen, rest: Seen = {}) => [...some(3, rest), frame(odd), ...some(3, rest)];

  it('is their median, where one sitter stands before and after', () => {
    expect(middle(with_({ face: -1 }))).toBe(0.5);
    expect(around(some(7))).toEqual([null, null, 0.5, 0.5, 0.5, null, null]);
  });

  it('takes two of three on each side to be the same sitter’s', () => {
    expect(middle(some(7), [1, 0, 0, 0, 0, 0, 1])).toBe(0.5);
    expect(middle(some(7), [1, 1, 0, 0, 0, 0, 0])).toBeNull();
    expect(middle(some(7), [0, 0, 0, 0, 0, 1, 1])).toBeNull();
    expect(middle(some(9), [0, 0, 1, 1, 0, 0, 0, 0, 0])).toBeNull();
    expect(middle(some(7), [0, 0, 1, 0, 0, 0, 0])).toBe(0.5);
    expect(middle(some(7), [0, 0, 0, 0, 1, 0, 0])).toBe(0.5);
  });

  it('takes the skin’s colour to be as near as minutes leave it', () => {
    const tinted = (look: Partial<AppearanceFacts>) => middle(with_({}, { look }));
    expect([tinted({ skinLogRg: 0.69 }), tinted({ skinLogRg: 0.71 })]).toEqual([0.5, null]);
    expect([tinted({ skinLogRg: 0.51 }), tinted({ skinLogRg: 0.49 })]).toEqual([0.5, null]);
    expect([tinted({ skinLogBg: -0.38 }), tinted({ skinLogBg: -0.36 })]).toEqual([0.5, null]);
    expect(tinted({ skinLogRg: null, skinLogBg: null })).toBe(0.5);
  });

  it('takes before and after to agree, by the face or by the face over the wall', () => {
    const sides = (before: Seen, after: Seen) => middle([...some(3, before), frame(), ...some(3, after)]);
    expect(sides({ face: 0.5 }, { face: 0.69 })).toBeCloseTo(0.595, 9);
    expect(sides({ face: 0.5 }, { face: 0.71 })).toBeNull();
    // The light turned up in between: face over wall as before, so the faces may differ, and their median tells.
    expect(sides({ face: 0.5, wall: -1 }, { face: 0.8, wall: -0.7 })).toBeCloseTo(0.65, 9);
    expect(sides({ face: null }, { face: 0.5 })).toBeNull();
    expect(sides({ wall: null }, { wall: null })).toBe(0.5);
  });

  it('takes all but one of them to be united', () => {
    const six = (faces: number[]) => {
      const seen = faces.map((face) => frame({ face }));
      return middle([...seen.slice(0, 3), frame({ face: 0 }), ...seen.slice(3)]);
    };
    expect(six([0.5, 0.5, 0.5, 0.5, 0.5, 2])).toBe(0.5);
    expect(six([0.5, 0.5, 2, 0.5, 0.5, 2])).toBeNull();
  });

  it('takes the frame to look as they do, or as those framed alike', () => {
    const odd = (look: Partial<AppearanceFacts>) => middle(with_({ face: 0, look }));
    expect([odd({ torsoMinusSkinLogRg: 0.119 }), odd({ torsoMinusSkinLogRg: 0.121 })]).toEqual([0.5, null]);
    expect(
      odd({ torsoMinusSkinLogRg: null, torsoMinusSkinLogBg: null, torsoMinusFaceStops: null, skinLogRg: null }),
    ).toBeNull();
    // A close crop shows a light collar; two more such crops of the sitter within eight frames show it, too.
    const collar: Seen = { face: 0.1, look: { cropLog2: -1.5, torsoMinusFaceStops: 0 } };
    const only = (...places: number[]) => {
      const list = some(31);
      for (const at of [15, ...places]) list[at] = frame(collar);
      return faceAround(list, same(31))[15];
    };
    expect([only(10), only(10, 11), only(5, 6), only(24, 25)]).toEqual([null, 0.5, null, null]);
    const frames = (away: number, sitter = 0) => {
      const list = some(31);
      for (const at of [15, 15 - away, 15 + away]) list[at] = frame(collar);
      return faceAround(
        list,
        list.map((_, i) => (i !== 15 && Math.abs(i - 15) === away ? sitter : 0)),
      )[15];
    };
    expect([frames(8), frames(9)]).toEqual([0.5, null]);
    expect(frames(8, 1)).toBeNull();
    expect(frames(0)).toBeNull();
  });
});
