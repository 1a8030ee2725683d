import { describe, expect, it } from 'vitest';
import { castsOf } from '../../src/shoot/cast.js';
import { lightsOf } from '../../src/shoot/deviation.js';
import { severityOf, worse } from '../../src/shoot/severity.js';
import { weighWitnesses, type SubjectWord } from '../../src/shoot/witnesses.js';
import {
  brighterOrDarker,
  listNames,
  percent,
  settingsText,
  shutterText,
  signedMired,
  signedStops,
  stepsThat,
  stopsText,
  thirdSteps,
} from '../../src/shoot/wording.js';
import { sequenceFrame } from '../support/frame-context.js';
import type { FakeFrame } from '../support/measurement.js';
import type { SequenceFrame } from '../../src/shoot/sequence.js';

describe('sitter and wall on the light of one frame', () => {
  const word = (stops: number | null, more: Partial<SubjectWord> = {}): SubjectWord => ({
    stops,
    companions: 8,
    ownIsProper: true,
    wholeFrame: false,
    ...more,
  });
  const weigh = (
    subject: SubjectWord,
    wall: number | null,
    around: number | null = 0,
    atMostStops: number | null = null,
  ) => weighWitnesses(subject, around, { stops: wall, atMostStops }, 0.1, 0.2);

  it('who agree are weighed by their variances: four to one for noise of 0.1 and 0.2', () => {
    const { lightStops, witnesses, errorStops } = weigh(word(-1), -0.5);
    expect(witnesses).toBe('both');
    expect(lightStops).toBeCloseTo(0.8 * -1 + 0.2 * -0.5, 9);
    // 1 / sqrt(1 / 0.01 + 1 / 0.04)
    expect(errorStops).toBeCloseTo(Math.sqrt(0.01 / 1.25), 9);
  });

  it('may differ by a quarter of a stop and a quarter of the larger change', () => {
    expect(weigh(word(1), 0.5).witnesses).toBe('both');
    expect(weigh(word(1), 0.49, 1).witnesses).toBe('disagree');
    expect(weigh(word(0.5), 1).witnesses).toBe('both');
    expect(weigh(word(-0.5), -1).witnesses).toBe('both');
  });

  it('of whom one is silent leave it to the other, with that one’s error', () => {
    expect(weigh(word(null), 0.5)).toEqual({ lightStops: 0.5, witnesses: 'wall', errorStops: 0.2 });
    expect(weigh(word(0.5), null)).toEqual({ lightStops: 0.5, witnesses: 'subject', errorStops: 0.1 });
    expect(weigh(word(null), null)).toEqual({ lightStops: null, witnesses: 'none', errorStops: 0.2 });
  });

  it('who agree while a look-alike cannot be ruled out leave it to the wall', () => {
    expect(weigh(word(0.5), 0.4, null)).toEqual({ lightStops: 0.4, witnesses: 'wall', errorStops: 0.2 });
  });

  it('who differ: a steady face before a wall that moved by 0.75 and more is believed', () => {
    expect(weigh(word(0.25), 0.75, null).witnesses).toBe('disagree');
    expect(weigh(word(0.25), 0.75, null)).toMatchObject({ lightStops: 0.25, errorStops: 0.1 });
    expect(weigh(word(-0.26), 0.75, null)).toMatchObject({ lightStops: 0.75, witnesses: 'wall', errorStops: 0.2 });
    expect(weigh(word(0), 0.74, null).witnesses).toBe('wall');
    expect(weigh(word(0, { ownIsProper: false }), 1, null).witnesses).toBe('wall');
  });

  it('who differ: a face that moved is believed with four frames, as the frames around it say', () => {
    expect(weigh(word(1), 0, 1)).toEqual({ lightStops: 1, witnesses: 'disagree', errorStops: 0.1 });
    expect(weigh(word(1), 0, 0.75).witnesses).toBe('disagree');
    expect(weigh(word(1), 0, 0.74).witnesses).toBe('wall');
    expect(weigh(word(1), 0, null).witnesses).toBe('wall');
    expect(weigh(word(1, { companions: 4 }), 0, 1).witnesses).toBe('disagree');
    expect(weigh(word(1, { companions: 3 }), 0, 1)).toEqual({ lightStops: 0, witnesses: 'wall', errorStops: 0.2 });
  });

  it('in the dark: a black wall that fell by more than a stop lets the subject speak', () => {
    expect(weigh(word(null), null, 0, -1)).toMatchObject({ witnesses: 'none' });
    expect(weigh(word(null), null, 0, -2)).toEqual({ lightStops: -2, witnesses: 'wall', errorStops: 0.2 });
    expect(weigh(word(-3), null, 0, -2)).toEqual({ lightStops: -3, witnesses: 'both', errorStops: 0.1 });
    // Allowed: a quarter, and a quarter of the larger change, above what the wall allows.
    expect(weigh(word(-1.25), null, 0, -2).witnesses).toBe('both');
    expect(weigh(word(-1.24), null, 0, -2)).toEqual({ lightStops: -1.24, witnesses: 'subject', errorStops: 0.1 });
    expect(weigh(word(-1), -0.9, 0, -2).witnesses).toBe('both');
  });
});

describe('the light of every frame of a set-up', () => {
  const frame = (wallLightStops: number | null, face: number, settingsStops = 0, more: Partial<SequenceFrame> = {}) =>
    sequenceFrame(
      {
        faceLevelStops: face + settingsStops,
        backgroundLevelStops: wallLightStops === null ? null : wallLightStops + settingsStops,
      },
      { wallLightStops, subjectLightStops: face, settingsStops, ...more },
    );
  const usual = (): SequenceFrame[] => Array.from({ length: 6 }, () => frame(-1, 0.5));

  it('is nought where nothing changed', () => {
    for (const light of lightsOf(usual()))
      expect(light).toMatchObject({
        settingsStops: 0,
        wallStops: 0,
        subjectStops: 0,
        lightStops: 0,
        levelStops: 0,
        witnesses: 'both',
      });
  });

  it('has the settings taken out against the usual ones, and added to the level again', () => {
    const light = lightsOf([...usual(), frame(-1, 0.5, 1)])[6];
    expect(light).toMatchObject({ settingsStops: 1, wallStops: 0, subjectStops: 0, lightStops: 0, levelStops: 1 });
    expect(lightsOf([...usual(), frame(-2, -0.5, 1)])[6]).toMatchObject({ lightStops: -1, levelStops: 0 });
  });

  it('of a sitter seen once is the wall’s alone', () => {
    const light = lightsOf([...usual(), frame(-2, -1, 0, { sitter: 1 })])[6];
    expect(light).toMatchObject({ wallStops: -1, subjectStops: null, lightStops: -1, witnesses: 'wall' });
  });

  it('has a sitter’s own level read from the frames before a steady wall', () => {
    const lights = lightsOf([...usual(), frame(-1, 1.5, 0, { sitter: 1 }), frame(-3, -0.5, 0, { sitter: 1 })]);
    expect(lights[6]).toMatchObject({ subjectStops: 0 });
    expect(lights[7]).toMatchObject({ subjectStops: -2, wallStops: -2, lightStops: -2 });
    // No frame of this sitter is before a steady wall: the wall's word is taken out first.
    const dark = lightsOf([...usual(), frame(-2, 1, 0, { sitter: 1 }), frame(-2, 1, 0, { sitter: 1 })]);
    expect(dark[6]).toMatchObject({ subjectStops: -1, lightStops: -1 });
  });

  it('has drift taken out as well', () => {
    const light = lightsOf([...usual(), frame(-1, 0.5, 0, { driftStops: 0.5 })])[6];
    expect(light?.subjectStops).toBeCloseTo(-0.5, 9);
  });

  it('without people is the whole frame’s, told with a large error', () => {
    const alone = (level: number): SequenceFrame => sequenceFrame({ person: false, frameLevelStops: level });
    const lights = lightsOf([alone(-1), alone(-1), alone(-1), alone(-2)]);
    expect(lights[3]).toMatchObject({ lightStops: -1, levelStops: -1, witnesses: 'subject', errorStops: 0.25 });
    expect(lights[0]).toMatchObject({ lightStops: 0 });
  });

  it('is known no better than 0.04 stop, of fewer than five frames to 0.08, and never worse than 0.2', () => {
    // Both witnesses: e / sqrt(2).
    expect(lightsOf(usual())[0]?.errorStops).toBeCloseTo(0.04 / Math.SQRT2, 9);
    expect(lightsOf(usual().slice(0, 4))[0]?.errorStops).toBeCloseTo(0.08 / Math.SQRT2, 9);
    const wild = [-1, 1, -2, 2, -3, 3].map((by, i) => frame(-1 + by, 0.5, 0, { sitter: i }));
    expect(lightsOf(wild)[0]?.errorStops).toBe(0.2);
  });
});

describe('the colour of every frame of a set-up', () => {
  const coloured = (fakes: readonly FakeFrame[], sitters: readonly number[] = []) =>
    castsOf(fakes.map((fake, i) => sequenceFrame(fake, { sitter: sitters[i] ?? 0 })));
  const usual: FakeFrame[] = Array.from({ length: 5 }, () => ({}));

  it('is the mean of wall and skin where they agree, within 18 mired and three tenths', () => {
    const [cast] = coloured([{ wallMired: 210, skinMired: 260 }, ...usual]);
    expect(cast).toEqual({ mired: 25, duv: 0, witnesses: 'both', spreadMired: 3 });
    // 18 + 0.3 x 40 = 30.
    expect(coloured([{ wallMired: 220, skinMired: 250 }, ...usual])[0]).toMatchObject({ witnesses: 'both', mired: 25 });
    expect(coloured([{ wallMired: 220, skinMired: 249 }, ...usual])[0]).toMatchObject({
      witnesses: 'disagree',
      mired: 9,
    });
    expect(coloured([{ wallMired: 189, skinMired: 280 }, ...usual])[0]).toMatchObject({
      witnesses: 'disagree',
      mired: 9,
    });
  });

  it('has the smaller tint of two that go one way, and none of two that do not', () => {
    const tint = (wallDuv: number | null, skinDuv: number | null) => coloured([{ wallDuv, skinDuv }, ...usual])[0]?.duv;
    expect(tint(0.01, 0.02)).toBe(0.01);
    expect(tint(0.02, 0.01)).toBe(0.01);
    expect(tint(-0.01, -0.02)).toBe(-0.01);
    expect(tint(0.01, -0.02)).toBe(0);
    expect(tint(null, 0.02)).toBe(0.02);
    expect(tint(0.01, null)).toBe(0.01);
    expect(tint(null, null)).toBeNull();
  });

  it('is one witness’s where the other is not there, and the neutral estimate’s where neither is', () => {
    const noWall: FakeFrame = { wallMired: null, wallDuv: null };
    const noSkin: FakeFrame = { skinMired: null, skinDuv: null };
    expect(coloured([{ ...noSkin, wallMired: 200, wallDuv: 0.003 }, ...usual])[0]).toMatchObject({
      mired: 20,
      duv: 0.003,
      witnesses: 'one',
    });
    expect(coloured([{ ...noWall, skinMired: 260, skinDuv: 0.003 }, ...usual])[0]).toMatchObject({
      mired: 20,
      duv: 0.003,
      witnesses: 'one',
    });
    expect(coloured([{ ...noWall, ...noSkin }, ...usual])[0]).toMatchObject({ mired: 0, duv: 0, witnesses: 'one' });
    expect(coloured([{ ...noWall, skinMired: 260 }, ...usual], [9])[0]).toMatchObject({ mired: 0, witnesses: 'one' });
  });

  it('of a sitter whom the wall shows in odd light only is what the wall leaves', () => {
    const odd: FakeFrame = { wallMired: 230, skinMired: 300 };
    const casts = coloured([odd, odd, ...usual], [1, 1]);
    expect(casts[0]).toMatchObject({ mired: 50, witnesses: 'both' });
    expect(coloured([odd, { wallMired: 192, skinMired: 250 }, ...usual], [1, 1])[0]).toMatchObject({
      mired: 50,
      witnesses: 'both',
    });
  });

  it('knows the scatter of the set-up, three mired at least', () => {
    const scattered = [170, 190, 170, 190, 180].map((wallMired): FakeFrame => ({ wallMired, skinMired: 240 }));
    // Deviations 10, 10, 10, 10, 0: their median times 1.4826.
    expect(coloured(scattered)[0]?.spreadMired).toBeCloseTo(14.826, 3);
    const skins = [230, 250, 230, 250, 240].map((skinMired): FakeFrame => ({ skinMired }));
    expect(coloured(skins)[0]?.spreadMired).toBeCloseTo(14.826, 3);
  });
});

describe('how much a difference counts', () => {
  it('against tolerance, response and noise', () => {
    expect(severityOf(0.25, 0.25, 0, 0)).toBeNull();
    expect(severityOf(-0.26, 0.25, 0, 0)).toBe('fault');
    expect(severityOf(1, 0.5, 0.5, 0)).toBe('check');
    expect(severityOf(1.01, 0.5, 0.5, 0)).toBe('fault');
    expect(severityOf(0.5, 0.25, 0, 0.25)).toBe('check');
    expect(severityOf(0.26, 0.25, 0, 0.25, 'two')).toBe('check');
    expect(severityOf(0.375, 0.25, 0, 0.25, 'one')).toBeNull();
    expect(severityOf(0.38, 0.25, 0, 0.25, 'one')).toBe('check');
    expect(severityOf(0.125, 0.25, 0, 0.125, 'exact')).toBeNull();
    expect(severityOf(0.13, 0.25, 0, 0.125, 'exact')).toBe('check');
  });

  it('the worse of two', () => {
    expect(worse('note', 'check')).toBe('check');
    expect(worse('fault', 'check')).toBe('fault');
    expect(worse('check', 'fault')).toBe('fault');
    expect(worse('note', 'note')).toBe('note');
  });
});

describe('numbers in sentences', () => {
  it('have two decimals, a sign where it tells, and one stop in the singular', () => {
    expect([stopsText(-0.333), stopsText(1), stopsText(-1.004), stopsText(1.01)]).toEqual([
      '0.33 stops',
      '1.00 stop',
      '1.00 stop',
      '1.01 stops',
    ]);
    expect([signedStops(0.5), signedStops(-0.5), signedStops(0)]).toEqual(['+0.50', '−0.50', '+0.00']);
    expect([signedMired(12.4), signedMired(-12.6), signedMired(0)]).toEqual(['+12 mired', '−13 mired', '+0 mired']);
    expect([brighterOrDarker(0.1), brighterOrDarker(-0.1)]).toEqual(['brighter', 'darker']);
    expect([percent(0.099), percent(0.1), percent(0.256)]).toEqual(['9.9 %', '10 %', '26 %']);
  });

  it('tell clicks of a third, and stops where a click is too coarse', () => {
    expect([thirdSteps(0.7), thirdSteps(-0.3), thirdSteps(0.16)]).toEqual([
      '+2 third-stop steps',
      '−1 third-stop step',
      '+0.16 stop (under half a third-stop step)',
    ]);
    expect(stepsThat('undo', 0.33)).toBe('+1 third-stop step undoes it');
    expect(stepsThat('restore', -0.33)).toBe('−1 third-stop step restores it');
    expect(stepsThat('undo', 1)).toBe('+3 third-stop steps undo it');
    expect(stepsThat('restore', 1, ' of light')).toBe('+3 third-stop steps of light restore it');
    expect(stepsThat('undo', 0.1)).toBe('+0.10 stop (under half a third-stop step) undoes it');
  });

  it('tell settings as cameras do', () => {
    expect(settingsText(8, 1 / 125, 100)).toBe('f/8, 1/125 s, ISO 100');
    expect(settingsText(null, null, 100)).toBe('ISO 100');
    expect(settingsText(null, null, null)).toBe('settings unknown');
    expect([shutterText(0.25), shutterText(0.3), shutterText(1 / 60), shutterText(2)]).toEqual([
      '1/4 s',
      '0.3 s',
      '1/60 s',
      '2 s',
    ]);
  });

  it('list four names at most', () => {
    expect(listNames(['a', 'b', 'c', 'd'])).toBe('a, b, c, d');
    expect(listNames(['a', 'b', 'c', 'd', 'e'])).toBe('a, b, c and 2 more');
  });
});
