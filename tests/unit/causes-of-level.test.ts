import { describe, expect, it } from 'vitest';
import type { Flag } from '../../src/contracts/report.js';
import { departureFlags } from '../../src/shoot/causes/departure.js';
import { driftFlags } from '../../src/shoot/causes/drift.js';
import { levelFlags } from '../../src/shoot/causes/level.js';
import { lightCause } from '../../src/shoot/causes/light-told.js';
import { nearerText } from '../../src/shoot/causes/nearer.js';
import { contextOf, type ToldContext } from '../support/frame-context.js';

/*
 * One frame against its set-up, the light and settings said outright. Tolerance 1/4 stop, response uncertain by 0.1 a stop,
 * so a fault needs |d| > 0.25 + 0.1 |d| + e: of the light alone, with e = 0.05, from a third of a stop on.
 */
const codes = (flags: readonly Flag[]): string[] => flags.map(({ code, severity }) => `${code} ${severity}`);
const level = (told: ToldContext): string[] => codes(levelFlags(contextOf(told)));
const sentence = (flags: readonly Flag[], code: string): string =>
  flags.find((flag) => flag.code === code)?.because ?? 'no such flag';

const light = (lightStops: number, more: ToldContext['light'] = {}): ToldContext => ({
  light: { lightStops, ...more },
});
/** The aperture opened by so many stops, the light as it was. */
const opened = (settingsStops: number, fNumber: number, more: ToldContext = {}): ToldContext => ({
  ...more,
  fake: { fNumber, ...more.fake },
  light: { settingsStops, ...more.light },
});

describe('a change of the light', () => {
  it('is nothing within tolerance, looked at past it, a fault past what response and noise may explain', () => {
    expect(level(light(0.25))).toEqual([]);
    expect(level(light(0.26))).toEqual(['light-changed check', 'level-off-baseline check']);
    expect(level(light(0.3))).toEqual(['light-changed check', 'level-off-baseline check']);
    expect(level(light(0.34))).toEqual(['light-changed fault', 'level-off-baseline fault']);
    expect(level(light(-0.34))).toEqual(['light-short fault', 'level-off-baseline fault']);
  });

  it('of one witness is looked at half an error later', () => {
    expect(level(light(0.27, { witnesses: 'wall' }))).toEqual([]);
    expect(level(light(0.28, { witnesses: 'wall' }))).toEqual(['light-changed check', 'level-off-baseline check']);
  });

  it('is told in stops, by what undoes it, and against what', () => {
    const flags = levelFlags(contextOf(light(1)));
    expect(flags[0]).toMatchObject({ stops: 1 });
    expect(sentence(flags, 'light-changed')).toBe(
      'The light on the subject rose by 1.00 stop against s1 with the settings accounted for: moved, turned or up; −3 third-stop steps undo it.',
    );
    expect(sentence(flags, 'level-off-baseline')).toBe(
      "The subject is 1.00 stop brighter than s1's baseline (settings +0.00, light +1.00; tolerance 0.25).",
    );
    expect(flags[1]).toMatchObject({ stops: 1, region: 'face' });
    expect(levelFlags(contextOf({ ...light(1), fake: { person: false } }))[1]).toMatchObject({ region: 'frame' });
  });

  it('is none where the level is not known', () => {
    expect(level({ light: { lightStops: null } })).toEqual([]);
  });
});

describe('settings that were touched', () => {
  it('are a knocked dial where the light stood: a third of a stop, at a tolerance of a quarter', () => {
    // f/8 to f/7.1 is a third of a stop of aperture.
    const flags = levelFlags(contextOf(opened(1 / 3, 7.1)));
    expect(codes(flags)).toEqual(['settings-changed fault', 'level-off-baseline fault']);
    expect(sentence(flags, 'settings-changed')).toBe(
      'Aperture is f/7.1, unlike the rest of s1, which alone makes it 0.33 stops brighter; −1 third-stop step undoes it.',
    );
    expect(sentence(flags, 'level-off-baseline')).toBe(
      "The subject is 0.33 stops brighter than s1's baseline (settings +0.33, light +0.00; tolerance 0.25).",
    );
  });

  it('and a light that seems to move by what the response may misread of the step: that is not the light', () => {
    // Two stops at 0.1 a stop, and the light's own 0.05: twice their hypotenuse is 0.41.
    expect(level(opened(2, 4, { light: { settingsStops: 2, lightStops: -0.4 } }))).toEqual([
      'settings-changed fault',
      'level-off-baseline fault',
    ]);
    expect(level(opened(2, 4, { light: { settingsStops: 2, lightStops: -0.42 } }))).toEqual([
      'settings-changed fault',
      'light-short fault',
      'level-off-baseline fault',
    ]);
  });

  it('widen what the level may be off by for the whole step, not for what is left of it', () => {
    // 0.38 is left of a stop of settings: the fault begins at 0.25 + 0.1 x 1 + 0.05.
    expect(level(opened(1, 5.6, { light: { settingsStops: 1, lightStops: -0.62 } }))).toEqual([
      'settings-changed fault',
      'light-short fault',
      'level-off-baseline check',
    ]);
    expect(level(opened(1, 5.6, { light: { settingsStops: 1, lightStops: -0.58 } }))[2]).toBe(
      'level-off-baseline fault',
    );
  });

  it('leave the light out where it alone is within tolerance', () => {
    expect(level(opened(0.5, 6.7, { light: { settingsStops: 0.5, lightStops: 0.24 } }))).toEqual([
      'settings-changed fault',
      'level-off-baseline fault',
    ]);
  });

  it('cancel within half the tolerance, whatever each is uncertain by', () => {
    const flags = levelFlags(
      contextOf(opened(0.34, 7.1, { light: { settingsStops: 0.34, lightStops: -0.22, errorStops: 0.11 } })),
    );
    expect(codes(flags)).toEqual(['settings-changed note']);
    expect(flags[0]?.because).toMatch(/to match: nothing to do\.$/);
  });

  it('at the tolerance itself are looked at, since they are known exactly; under it they are a note', () => {
    const third = { plan: { toleranceStops: 1 / 3 } };
    expect(level(opened(1 / 3, 7.1, third))).toEqual(['settings-changed check', 'level-off-baseline check']);
    expect(level(opened(1 / 3, 7.1, { plan: { toleranceStops: 0.5 } }))).toEqual(['settings-changed note']);
    expect(
      sentence(levelFlags(contextOf(opened(1 / 3, 7.1, { plan: { toleranceStops: 0.5 } }))), 'settings-changed'),
    ).toBe('Aperture is f/7.1, unlike the rest of s1: +0.33 stop, within tolerance.');
  });

  it('under half a dial step are the same settings', () => {
    expect(level(opened(0.16, 8))).toEqual([]);
    expect(level(opened(0.17, 8))).toEqual(['settings-changed note']);
  });

  it('are believed over a level measured within tolerance, which is told beside them', () => {
    const flags = levelFlags(
      contextOf(opened(0.34, 7.1, { light: { settingsStops: 0.34, lightStops: -0.12, errorStops: 0.1 } })),
    );
    expect(codes(flags)).toEqual(['settings-changed fault', 'level-off-baseline fault']);
    expect(flags[1]).toMatchObject({ stops: 0.34, region: 'face' });
    const noFace = opened(0.34, 7.1, {
      fake: { person: false },
      light: { settingsStops: 0.34, lightStops: -0.12, errorStops: 0.1 },
    });
    expect(levelFlags(contextOf({ ...noFace, fake: { ...noFace.fake, fNumber: 7.1 } }))[1]).toMatchObject({
      region: 'frame',
    });
    expect(sentence(flags, 'level-off-baseline')).toBe(
      "By its settings the subject is 0.34 stops brighter than s1's baseline (measured +0.22; tolerance 0.25).",
    );
  });

  it('that the light made up for are no fault', () => {
    const flags = levelFlags(contextOf(opened(1, 5.6, { light: { settingsStops: 1, lightStops: -0.95 } })));
    expect(codes(flags)).toEqual(['settings-changed note']);
    expect(sentence(flags, 'settings-changed')).toBe(
      'Aperture is f/5.6, unlike the rest of s1 (+1.00 stop) and the light changed by −0.95 stop to match: nothing to do.',
    );
  });

  it('and a light that moved as well are told apart', () => {
    const flags = levelFlags(contextOf(opened(1, 5.6, { light: { settingsStops: 1, lightStops: 1 } })));
    expect(codes(flags)).toEqual(['settings-changed fault', 'light-changed fault', 'level-off-baseline fault']);
    expect(flags.map(({ stops }) => stops)).toEqual([1, 1, 2]);
  });

  it('alone tell where no level is known: never more than a check', () => {
    const unknown = { light: { lightStops: null } } as const;
    const flags = levelFlags(contextOf(opened(1, 5.6, { light: { ...unknown.light, settingsStops: 1 } })));
    expect(codes(flags)).toEqual(['settings-changed check', 'level-off-baseline check']);
    expect(sentence(flags, 'level-off-baseline')).toBe(
      "The subject is 1.00 stop brighter than s1's baseline (settings +1.00, its light not readable; tolerance 0.25).",
    );
    expect(level(opened(0.2, 8, { light: { ...unknown.light, settingsStops: 0.2 } }))).toEqual([
      'settings-changed note',
    ]);
    const untold = { ...unknown.light, settingsStops: 1, settingsKnown: false };
    expect(level(opened(1, 5.6, { light: untold }))).toEqual([]);
  });

  it('name each dial that moved, the shutter only where it counts', () => {
    const fake = { fNumber: 5.6, exposureTimeSeconds: 1 / 250, iso: 200 };
    const told = (kind: 'flash' | 'continuous') =>
      sentence(levelFlags(contextOf({ fake, kind, light: { settingsStops: 1 } })), 'settings-changed');
    expect(told('continuous')).toMatch(
      /^Aperture is f\/5\.6 and shutter is 1\/250 s and ISO is 200, unlike the rest of s1,/,
    );
    expect(told('flash')).toMatch(/^Aperture is f\/5\.6 and ISO is 200, unlike/);
    const same = sentence(levelFlags(contextOf({ light: { settingsStops: 1 } })), 'settings-changed');
    expect(same).toMatch(/^Settings differ \(f\/8, 1\/125 s, ISO 100\), which/);
  });

  it('that the camera chose are told as such', () => {
    const automation = {
      frames: 17,
      settings: ['aperture' as const],
      program: 'aperture priority',
      spreadStops: 0.3,
      rangeStops: 1,
      lightSpreadStops: 0.05,
      because: '',
    };
    const told = (automatic: boolean, program: string | null) =>
      sentence(
        levelFlags(
          contextOf(opened(1, 5.6, { frame: { automatic }, setup: { automation: { ...automation, program } } })),
        ),
        'settings-changed',
      );
    expect(told(true, 'aperture priority')).toMatch(
      / undo it\. The camera chose it \(aperture priority\) under steady light: set exposure by hand or lock it\.$/,
    );
    expect(told(true, null)).toMatch(/The camera chose it \(automatic ISO\) under/);
    expect(told(false, null)).toMatch(/ undo it\.$/);
  });
});

describe('a sitter who stands apart from a steady wall', () => {
  const apart = (lightStops: number, more: ToldContext = {}): ToldContext => ({
    ...more,
    light: { lightStops, subjectStops: lightStops, wallStops: 0.02, witnesses: 'disagree' },
  });

  it('may be another skin up to 0.42 stop; from there on worth a look, never a fault', () => {
    expect(level(apart(0.42))).toEqual([]);
    expect(level(apart(0.43))).toEqual(['face-bright check', 'level-off-baseline check']);
    expect(level(apart(-2))).toEqual(['face-dark check', 'level-off-baseline check']);
  });

  it('is told against the wall; without a face it is the light', () => {
    const flags = levelFlags(contextOf({ ...apart(-0.5), before: [], after: [{}, {}] }));
    expect(flags[0]).toMatchObject({ region: 'face', stops: -0.5 });
    expect(flags[0]?.because).toBe(
      "The face is 0.50 stops darker than in this sitter's other frames while the background stands at +0.02: the sitter moved or turned in the light, or somebody else stands there.",
    );
    expect(levelFlags(contextOf(apart(-0.5)))[0]?.because).toMatch(
      /stands at \+0\.02\. The head is as large as in the frames around/,
    );
    expect(level(apart(0.5, { fake: { faceLevelStops: null } }))).toEqual([
      'light-changed fault',
      'level-off-baseline check',
    ]);
  });
});

describe('the size of the head', () => {
  const grown = (factor: number, stops: number, told: ToldContext = {}) =>
    nearerText(contextOf({ ...told, fake: { faceHeightShare: 0.12 * factor, ...told.fake } }), stops);

  it('tells a sitter who came nearer: 2^0.5 as large is a stop by the inverse square', () => {
    expect(grown(2 ** 0.5, 1)).toBe(
      'The head is 1.41 times as large as in the frames around: the sitter stands nearer to the light, which by the inverse square gives +1.00 stop for a light beside the camera.',
    );
    expect(grown(2 ** -0.5, -1)).toMatch(/0\.71 times as large .* further from the light, .* gives −1\.00 stop/);
    // The step may miss the head's by 0.3 and a third of it: 1 +- 0.65.
    expect(grown(2 ** 0.5, 1.64)).not.toBeNull();
    expect(grown(2 ** 0.5, 1.66)).toBeNull();
    expect(grown(2 ** 0.5, -1)).toBeNull();
  });

  it('tells one who did not, where the light moved by more than a head would show', () => {
    expect(grown(1, 0.3)).toMatch(/^The head is as large as in the frames around/);
    expect(grown(1, -0.3)).toMatch(/^The head is as large/);
    expect(grown(1, 0.29)).toBeNull();
    expect(grown(2 ** 0.14, 0.5)).toMatch(/as large as/);
  });

  it('tells nothing of other sitters, other lenses, too few frames, or heads that scatter', () => {
    const two = [{}, {}];
    expect(grown(1, 0.5, { before: two, after: [] })).toBeNull();
    expect(grown(1, 0.5, { before: two, after: [{}] })).not.toBeNull();
    expect(grown(1, 0.5, { before: [{}, {}, {}, {}].map(() => ({ frame: { sitter: 1 } })), after: [] })).toBeNull();
    const zoomed = { fake: { focalLengthMm: 85 * 2 ** 0.16 } };
    expect(grown(1, 0.5, { before: [zoomed, zoomed, zoomed], after: [] })).toBeNull();
    const faceless = { fake: { faceLevelStops: null } };
    expect(grown(1, 0.5, { before: [faceless, faceless, {}, {}], after: [] })).toBeNull();
    const sized = (log2: number) => ({ fake: { faceHeightShare: 0.12 * 2 ** log2 } });
    expect(grown(1, 0.5, { before: [sized(-0.3), sized(0.3), sized(-0.3)], after: [sized(0.3), sized(0)] })).toBeNull();
    expect(
      grown(1, 0.5, { before: [sized(-0.2), sized(0.2), sized(-0.2)], after: [sized(0.2), sized(0)] }),
    ).not.toBeNull();
    expect(grown(1, 0.5, { fake: { faceLevelStops: null } })).toBeNull();
  });

  it('looks at four frames on each side', () => {
    const large = { fake: { faceHeightShare: 0.24 } };
    const near = [{}, {}, {}, {}];
    expect(grown(1, 0.5, { before: [large, large, large, ...near], after: [...near, large, large] })).toMatch(
      /as large as/,
    );
    expect(grown(1, 0.5, { before: [large, large, large], after: [] })).toBeNull();
  });
});

describe('the likeliest cause of less flash', () => {
  const cause = (stops: number, told: ToldContext = {}) => lightCause(contextOf(told), stops);

  it('is that it did not fire, from 1.3 stops on; from 0.6 where the file says so and others fired', () => {
    expect(cause(-1.3).code).toBe('light-missing');
    expect(cause(-1.29).code).toBe('light-short');
    expect(cause(-1.3).because).toBe(
      'The light fell by 1.30 stops with the settings accounted for: the flash did not fire.',
    );
    const silent: ToldContext = { fake: { flashFired: false }, medians: { someFlashFired: true } };
    expect(cause(-0.6, silent).code).toBe('light-missing');
    expect(cause(-0.6, silent).because).toMatch(/the flash did not fire; the file says that it did not fire\.$/);
    expect(cause(-0.59, silent).code).toBe('light-short');
    expect(cause(-0.6, { ...silent, medians: { someFlashFired: false } }).code).toBe('light-short');
    expect(cause(-0.6, { ...silent, fake: { flashFired: null } }).code).toBe('light-short');
  });

  it('is that it was not recharged, soon after the frame before, of two frames in a row at most', () => {
    expect(cause(-0.5).because).toBe(
      'The flash gave 0.50 stops less than usual 10.0 s after the frame before (usually 10.0 s): fired before it was recharged.',
    );
    expect(cause(-0.5, { sincePreviousMs: 15_000 }).code).toBe('light-short');
    expect(cause(-0.5, { sincePreviousMs: 15_001 }).code).toBe('light-changed');
    expect(cause(-0.5, { sincePreviousMs: null }).because).toMatch(
      /^The flash gave 0\.50 stops less than usual: fired/,
    );
    expect(cause(-0.5, { usualIntervalMs: null }).because).toMatch(/less than usual: fired/);
    const low = { light: { lightStops: -0.26 } };
    const half = { light: { lightStops: -0.25 } };
    const unknown = { light: { lightStops: null } };
    const run = (before: ToldContext[], after: ToldContext[]) => cause(-0.5, { before, after }).code;
    expect(run([low], [])).toBe('light-short');
    expect(run([low], [low])).toBe('light-changed');
    expect(run([low, low], [])).toBe('light-changed');
    expect(run([], [low, low])).toBe('light-changed');
    expect(run([low, {}], [{}, low])).toBe('light-short');
    expect(run([low, half], [half, low])).toBe('light-short');
    expect(run([low, unknown], [unknown, low])).toBe('light-short');
  });

  it('is nothing of a flash in continuous light, nor where the light rose', () => {
    expect(cause(-2, { kind: 'continuous' }).code).toBe('light-changed');
    expect(cause(-2, { kind: 'continuous' }).because).toMatch(
      /fell by 2\.00 stops .* turned or down; \+6 third-stop steps undo/,
    );
    expect(cause(2).code).toBe('light-changed');
  });
});

describe('a set-up of two frames that differ', () => {
  const two = (own: number, other: number, told: ToldContext = {}) =>
    levelFlags(contextOf({ ...told, ...light(own), before: [], after: [light(other)] }));

  it('tells the whole difference, and that nothing says which is as meant', () => {
    const flags = two(0.5, -0.5);
    expect(codes(flags)).toEqual(['level-off-baseline check']);
    expect(flags[0]).toMatchObject({ stops: 1, region: 'face' });
    expect(flags[0]?.because).toBe(
      'It is 1.00 stop brighter than F002.jpg, the only other one of s1: nothing tells which of the two is as meant.',
    );
    expect(two(-0.2, 0.2)[0]?.because).toMatch(/0\.40 stops darker than F002\.jpg/);
    expect(two(0.5, -0.5, { fake: { person: false } })[0]).toMatchObject({ region: 'frame' });
  });

  it('is nothing within tolerance and half the error of both: 0.25 + 0.05 x sqrt(2) / 2 = 0.285', () => {
    expect(two(0.14, -0.14)).toEqual([]);
    expect(codes(two(0.145, -0.145))).toEqual(['level-off-baseline check']);
  });

  it('names a flash that plainly did not fire, on the dark one alone', () => {
    expect(codes(two(-0.75, 0.75))).toEqual(['light-missing fault', 'level-off-baseline fault']);
    expect(two(-0.75, 0.75)[0]).toMatchObject({ stops: -1.5 });
    expect(codes(two(0.75, -0.75))).toEqual(['level-off-baseline check']);
  });

  it('of which one cannot be read is no pair', () => {
    expect(levelFlags(contextOf({ ...light(0.5), before: [], after: [{ light: { lightStops: null } }] }))).toEqual([]);
  });
});

describe('a set-up that nobody metered for', () => {
  const departed = (settingsStops: number, lightStops: number, sure = true) =>
    departureFlags(
      contextOf({
        setup: { id: 's2', departure: { fromSetupPlace: 0, settingsStops, lightStops, sure }, departedFromId: 's1' },
      }),
    );

  it('is told by what moved: the light', () => {
    const flags = departed(0, -0.5);
    expect(codes(flags)).toEqual(['level-off-baseline fault', 'light-changed fault']);
    expect(flags.map(({ because }) => because)).toEqual([
      'With the rest of s2 it is 0.50 stops darker than the level metered for in s1.',
      'All of s2 is 0.50 stops darker than s1 was metered for (the light moved or was turned, the settings stayed); +2 third-stop steps restore it.',
    ]);
    expect(flags.map(({ stops }) => stops)).toEqual([-0.5, -0.5]);
  });

  it('or a setting, which is known exactly: a fault past the tolerance itself', () => {
    expect(codes(departed(0.26, 0))).toEqual(['level-off-baseline fault', 'settings-changed fault']);
    expect(codes(departed(0, 0.26))).toEqual(['level-off-baseline check', 'light-changed check']);
    expect(codes(departed(0.25, 0))).toEqual([]);
    expect(departed(0.5, 0)[1]?.because).toMatch(
      /\(a setting was changed, the light stayed\); −2 third-stop steps restore it\.$/,
    );
    expect(codes(departed(0.5, -0.5))).toEqual([]);
    expect(codes(departed(0.25, 0.25))[1]).toMatch(/^light-changed/);
  });

  it('is a check where a pause lies between, and none where it departs from nothing', () => {
    expect(codes(departed(0, -1, false))).toEqual(['level-off-baseline check', 'light-changed check']);
    expect(departed(0, -1, false)[1]?.because).toMatch(
      /restore it\. It may be meant: a pause or a change of sitter lies between\.$/,
    );
    expect(departureFlags(contextOf())).toEqual([]);
  });
});

describe('light that drifted', () => {
  const drift = { first: 0, stopsPerFrame: -0.01, errorStopsPerFrame: 0, witnesses: 'both' as const };
  const drifted = (driftStops: number, told: ToldContext = {}, more: object = {}) =>
    driftFlags(
      contextOf({ ...told, frame: { driftStops }, setup: { ...told.setup, drift: { ...drift, ...more } as never } }),
    );

  it('is told with its rate, and so is the level that it came to', () => {
    const flags = drifted(-0.5);
    expect(codes(flags)).toEqual(['light-changed fault', 'level-off-baseline fault']);
    expect(flags.map(({ because }) => because)).toEqual([
      'The light drifts through s1 (−1.00 stop in 100 frames, uncertain by 0.00): by this frame −0.50 stop; +2 third-stop steps undo it.',
      'The subject is 0.50 stops darker than s1 was metered for (drift −0.50; tolerance 0.25).',
    ]);
    expect(flags[1]).toMatchObject({ region: 'face', stops: -0.5 });
    expect(drifted(-0.5, { fake: { person: false } })[1]).toMatchObject({ region: 'frame' });
  });

  it('needs a drift past the tolerance, its uncertainty and half the frame’s own', () => {
    // One witness: 0.25 + half of half of 0.05.
    expect(codes(drifted(-0.26))).toEqual([]);
    expect(codes(drifted(-0.27))).toEqual(['light-changed check', 'level-off-baseline check']);
    // 8 frames on, 0.02 a frame uncertain: e = 0.16 and a little, so a check begins at 0.33.
    expect(codes(drifted(-0.32, {}, { errorStopsPerFrame: 0.02 }))).toEqual([]);
    expect(codes(drifted(-0.34, {}, { errorStopsPerFrame: 0.02 }))).toEqual([
      'light-changed check',
      'level-off-baseline check',
    ]);
    expect(codes(drifted(-0.34, {}, { errorStopsPerFrame: 0.02, first: 8 }))).toEqual([
      'light-changed fault',
      'level-off-baseline fault',
    ]);
    expect(codes(drifted(-1, {}, { witnesses: 'wall' }))).toEqual(['light-changed check', 'level-off-baseline check']);
  });

  it('is left to another cause where it is under half of what the frame is off by, or made up for', () => {
    expect(codes(drifted(-0.5, light(-0.5)))).toEqual(['light-changed fault', 'level-off-baseline fault']);
    expect(codes(drifted(-0.5, light(-0.51)))).toEqual([]);
    expect(codes(drifted(-0.5, light(0.4)))).toEqual([]);
    expect(codes(drifted(-0.5, light(0.375)))).toEqual(['light-changed fault', 'level-off-baseline fault']);
    expect(codes(drifted(0))).toEqual([]);
    expect(driftFlags(contextOf({ frame: { driftStops: -1 } }))).toEqual([]);
  });

  it('stands apart from what the set-up owes to an earlier one', () => {
    const departure = { fromSetupPlace: 0, settingsStops: -0.2, lightStops: -0.2, sure: true };
    expect(codes(drifted(-0.5, { ...light(0.45), setup: { departure } }))).toEqual([]);
    expect(codes(drifted(-0.5, { setup: { departure } }))).toHaveLength(2);
  });

  it('of a frame whose level is not known is told by the drift alone', () => {
    expect(drifted(-0.5, { light: { lightStops: null } })[1]).toMatchObject({ stops: -0.5 });
  });
});
