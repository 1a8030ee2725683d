import { describe, expect, it } from 'vitest';
import type { SetupBaseline } from '../../src/contracts/report.js';
import type { ArrangementChange } from '../../src/shoot/arrangement-change.js';
import { describeChange, describeSetup } from '../../src/shoot/describe.js';
import type { SetupState } from '../../src/shoot/setup-state.js';
import { contextOf } from '../support/frame-context.js';
import { NO_CHANGE } from '../support/no-change.js';

const { setup: USUAL, lightKind: FLASH } = contextOf();
const BASELINE: SetupBaseline = {
  subjectLevelStops: 0.5,
  subjectSpreadStops: 0.05,
  backgroundLevelStops: -1,
  personToBackgroundStops: 1.5,
  sideToSideStops: 1,
  faceToLowerBodyStops: null,
  faceToLowerBodyLightStops: null,
  castMired: 26,
  castDuv: 0,
  fNumber: 8,
  exposureTimeSeconds: 1 / 125,
  iso: 100,
  ev100: 13,
};

describe('a set-up in one line', () => {
  const line = (told: Partial<SetupBaseline>, setup: Partial<SetupState> = {}) =>
    describeSetup({ ...USUAL, ...setup }, { ...BASELINE, ...told }, FLASH);

  it('says level, ratio, background, colour, light and settings', () => {
    // A stop from side to side is 2:1.
    expect(line({})).toBe(
      'Subject +0.50 stop to mid-grey; side to side 1.0 stops (2.0:1 highlight to shadow); background 1.50 stops under the subject; cast 26 mired warm of daylight; flash, f/8, 1/125 s, ISO 100',
    );
    expect(line({}, { againId: 's1' })).toMatch(/ISO 100 \(as s1 again\)$/);
  });

  it('turns with the signs', () => {
    const other = line({
      subjectLevelStops: -1,
      personToBackgroundStops: -0.5,
      castMired: -12,
      sideToSideStops: 1.585,
    });
    expect(other).toContain('Subject −1.00 stop to mid-grey');
    expect(other).toContain('1.6 stops (3.0:1 highlight to shadow)');
    expect(other).toContain('background 0.50 stops over the subject');
    expect(other).toContain('cast 12 mired cool of daylight');
    expect(line({ personToBackgroundStops: 0 })).toContain('under the subject');
    expect(line({ castMired: -0.4 })).toContain('cast neutral');
  });

  it('leaves out what is not known', () => {
    const nothing = { subjectLevelStops: null, sideToSideStops: null, personToBackgroundStops: null, castMired: null };
    expect(line({ ...nothing, fNumber: null, exposureTimeSeconds: null, iso: null })).toBe('Flash, settings unknown');
  });
});

describe('what changed from the set-up before', () => {
  const told = (change: Partial<ArrangementChange> | null, setup: Partial<SetupState> = {}) =>
    describeChange({
      ...USUAL,
      previousId: 's1',
      change: change === null ? null : { ...NO_CHANGE, ...change },
      ...setup,
    });
  const why = (change: Partial<ArrangementChange>, setup: Partial<SetupState> = {}) => told(change, setup)!.because;

  it('is told in stops, with the clicks that restore the light', () => {
    expect(told({ wallLightStops: -0.7, subjectLightStops: -0.6, sideToSideStops: 0.2, mired: 3.456 })).toEqual({
      fromSetup: 's1',
      levelStops: -0.65,
      settingsStops: 0,
      lightStops: -0.65,
      lightThirdStopSteps: 2,
      sideToSideStops: 0.2,
      personToBackgroundStops: 0.1,
      castMired: 3.46,
      fallOffStops: null,
      because: 'Light −0.65 stop; level −0.65 stop in all; to restore the light, +2 third-stop steps.',
    });
    expect(told(null)).toBeNull();
    expect(told({}, { previousId: null })).toBeNull();
  });

  it('of which neither wall nor sitter tells the light is not known', () => {
    expect(
      told({ wallLightStops: null, subjectLightStops: null, settingsStops: 1, largestSettingStops: 1 }),
    ).toMatchObject({
      levelStops: null,
      lightStops: null,
      lightThirdStopSteps: null,
      personToBackgroundStops: null,
      because: 'Settings +1.00 stop.',
    });
    expect(told({ wallLightStops: null, subjectLightStops: 1 })).toMatchObject({
      lightStops: 1,
      personToBackgroundStops: null,
    });
    expect(told({ wallLightStops: 1, subjectLightStops: null })).toMatchObject({
      lightStops: 1,
      lightThirdStopSteps: -3,
    });
  });

  it('names each respect', () => {
    expect(why({})).toBe('Background or framing changed; level +0.00 stop in all.');
    expect(why({ sidesSwapped: true })).toMatch(/^Light from the other side;/);
    expect(why({ sideToSideStops: -0.8 })).toMatch(/^Side to side −0\.80 stops;/);
    expect(why({ fallOff: () => ({ stops: 0.1, by: 'own-skin' }) })).not.toContain('fall-off');
    expect(why({ mired: -40 })).toMatch(/^Cast −40 mired;/);
    expect(why({ fallOff: () => ({ stops: 0.6, by: 'own-skin' }) })).toMatch(
      /^0\.60 stops more fall-off down the body;/,
    );
    expect(why({ fallOff: () => ({ stops: -0.6, by: 'own-skin' }) })).toMatch(
      /^0\.60 stops less fall-off down the body;/,
    );
    const all = why({
      wallLightStops: 1,
      subjectLightStops: 1,
      sidesSwapped: true,
      sideToSideStops: 1,
      fallOff: () => ({ stops: 1, by: 'own-skin' }),
      largestSettingStops: 1,
      settingsStops: 1,
      mired: 30,
    });
    expect(all).toBe(
      'Light +1.00 stop, light from the other side, side to side +1.00 stops, 1.00 stop more fall-off down the body, settings +1.00 stop, cast +30 mired; level +2.00 stop in all; to restore the light, −3 third-stop steps.',
    );
  });

  it('of light and settings that make up for each other to half a click asks for nothing', () => {
    const change = (settingsStops: number) =>
      why({ wallLightStops: 1, subjectLightStops: 1, settingsStops, largestSettingStops: 1 });
    expect(change(-1)).toMatch(/settings and light make up for each other, nothing to restore\.$/);
    expect(change(-0.84)).toMatch(/nothing to restore\.$/);
    const touched = { wallLightStops: 0.25, subjectLightStops: 0.25, settingsStops: -0.2, largestSettingStops: 0.2 };
    expect(why(touched)).toMatch(/to restore the light, −1 third-stop step\.$/);
    expect(change(-0.83)).toMatch(/to restore the light, −3 third-stop steps\.$/);
    expect(
      why({ wallLightStops: 0.05, subjectLightStops: 0.05, settingsStops: -0.05, largestSettingStops: 1 }),
    ).not.toContain('restore');
  });

  it('says that nobody metered again, and back to what it went', () => {
    const departure = { fromSetupPlace: 0, settingsStops: 0, lightStops: -1, sure: true } as NonNullable<
      SetupState['departure']
    >;
    expect(why({}, { departure, departedFromId: 's1' })).toMatch(/; not metered again since s1\.$/);
    expect(why({}, { departure: { ...departure, sure: false }, departedFromId: 's1', againId: 's1' })).toMatch(
      /; not metered again since s1, unless in the pause; back to s1\.$/,
    );
  });
});
