import { describe, expect, it } from 'vitest';
import { levelFlags } from '../../../src/shoot/causes/level.js';
import { contextOf } from '../../support/frame-context.js';
import { codes, levelTold, opened, sentence } from '../../support/frame-flags.js';

/*
 * One frame against its set-up, the light and settings said outright. Tolerance 1/4 stop, response uncertain by 0.1 a stop,
 * so a fault needs |d| > 0.25 + 0.1 |d| + e: of the light alone, with e = 0.05, from a third of a stop on.
 */
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
    expect(levelTold(opened(2, 4, { light: { settingsStops: 2, lightStops: -0.4 } }))).toEqual([
      'settings-changed fault',
      'level-off-baseline fault',
    ]);
    expect(levelTold(opened(2, 4, { light: { settingsStops: 2, lightStops: -0.42 } }))).toEqual([
      'settings-changed fault',
      'light-short fault',
      'level-off-baseline fault',
    ]);
  });

  it('widen what the level may be off by for the whole step, not for what is left of it', () => {
    // 0.38 is left of a stop of settings: the fault begins at 0.25 + 0.1 x 1 + 0.05.
    expect(levelTold(opened(1, 5.6, { light: { settingsStops: 1, lightStops: -0.62 } }))).toEqual([
      'settings-changed fault',
      'light-short fault',
      'level-off-baseline check',
    ]);
    expect(levelTold(opened(1, 5.6, { light: { settingsStops: 1, lightStops: -0.58 } }))[2]).toBe(
      'level-off-baseline fault',
    );
  });

  it('leave the light out where it alone is within tolerance', () => {
    expect(levelTold(opened(0.5, 6.7, { light: { settingsStops: 0.5, lightStops: 0.24 } }))).toEqual([
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
    expect(levelTold(opened(1 / 3, 7.1, third))).toEqual(['settings-changed check', 'level-off-baseline check']);
    expect(levelTold(opened(1 / 3, 7.1, { plan: { toleranceStops: 0.5 } }))).toEqual(['settings-changed note']);
    expect(
      sentence(levelFlags(contextOf(opened(1 / 3, 7.1, { plan: { toleranceStops: 0.5 } }))), 'settings-changed'),
    ).toBe('Aperture is f/7.1, unlike the rest of s1: +0.33 stop, within tolerance.');
  });

  it('under half a dial step are the same settings', () => {
    expect(levelTold(opened(0.16, 8))).toEqual([]);
    expect(levelTold(opened(0.17, 8))).toEqual(['settings-changed note']);
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
    expect(levelTold(opened(0.2, 8, { light: { ...unknown.light, settingsStops: 0.2 } }))).toEqual([
      'settings-changed note',
    ]);
    const untold = { ...unknown.light, settingsStops: 1, settingsKnown: false };
    expect(levelTold(opened(1, 5.6, { light: untold }))).toEqual([]);
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
