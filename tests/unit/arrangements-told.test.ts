import { describe, expect, it } from 'vitest';
import {
  castChanged,
  changeBetween,
  fallOffChanged,
  isAnother,
  lightChangeStops,
  lightChanged,
  onlySettingsChanged,
  plainlyAnother,
  settingsChanged,
  sideToSideChanged,
  type ArrangementChange,
} from '../../src/shoot/arrangement-change.js';
import type { Arrangement } from '../../src/shoot/arrangement.js';
import { departureOf, type Departure } from '../../src/shoot/metering.js';
import { isPause } from '../../src/shoot/signals.js';
import type { SeenSitter } from '../../src/shoot/sitters-across.js';
import { NO_CHANGE } from '../support/no-change.js';

/* What differs from one arrangement to the next, said outright; the least changes that tell are those of TELLING. */
const changed = (told: Partial<ArrangementChange>): ArrangementChange => ({ ...NO_CHANGE, ...told });
const light = (wallLightStops: number | null, subjectLightStops: number | null): ArrangementChange =>
  changed({ wallLightStops, subjectLightStops });

describe('the light changed', () => {
  it('by 0.22 stop where wall and sitters agree within a quarter, in the mean of both', () => {
    expect(lightChanged(light(0.22, 0.22))).toBe(true);
    expect(lightChanged(light(0.34, 0.1))).toBe(true);
    expect(lightChanged(light(-0.22, -0.21))).toBe(false);
    expect(lightChangeStops(light(0.5, 0.25))).toBe(0.375);
  });

  it('by 0.28 where the wall speaks alone, by 0.3 where the sitters do', () => {
    expect([lightChanged(light(0.28, null)), lightChanged(light(-0.27, null))]).toEqual([true, false]);
    expect([lightChanged(light(null, -0.3)), lightChanged(light(null, 0.29))]).toEqual([true, false]);
    expect(lightChanged(light(null, null))).toBe(false);
    expect([
      lightChangeStops(light(0.5, null)),
      lightChangeStops(light(null, 0.5)),
      lightChangeStops(light(null, null)),
    ]).toEqual([0.5, 0.5, 0]);
  });

  it('where they differ, by 0.3 on the sitters or 0.5 on the wall; the sitters tell by how much', () => {
    expect(lightChanged(light(0, 0.3))).toBe(true);
    expect(lightChanged(light(0.5, 0.2))).toBe(true);
    expect(lightChanged(light(0.49, 0.2))).toBe(false);
    expect(lightChanged(light(-0.5, 0.29))).toBe(true);
    expect(lightChangeStops(light(0.6, 0.2))).toBe(0.2);
  });
});

describe('another arrangement', () => {
  it('is one in which any respect changed by what tells', () => {
    expect(isAnother(NO_CHANGE)).toBe(false);
    expect([0.25, 0.24].map((largestSettingStops) => settingsChanged(changed({ largestSettingStops })))).toEqual([
      true,
      false,
    ]);
    expect([-0.6, 0.59, null].map((sideToSideStops) => sideToSideChanged(changed({ sideToSideStops })))).toEqual([
      true,
      false,
      false,
    ]);
    expect(
      [0.9, 0.89].map((sideToSideStops) => sideToSideChanged(changed({ sideToSideStops, sittersShared: false }))),
    ).toEqual([true, false]);
    expect([-18, 17.9, null].map((mired) => castChanged(changed({ mired })))).toEqual([true, false, false]);
    const fell = (stops: number | null, by: 'own-skin' | 'own-profile' | 'other-skin' | null) =>
      fallOffChanged(changed({ fallOff: () => ({ stops, by }) }));
    expect([fell(0.45, 'own-skin'), fell(-0.44, 'own-skin')]).toEqual([true, false]);
    expect([fell(0.6, 'own-profile'), fell(0.59, 'own-profile')]).toEqual([true, false]);
    expect([fell(-0.9, 'other-skin'), fell(0.89, 'other-skin'), fell(null, null)]).toEqual([true, false, false]);
    for (const told of [
      { wallLightStops: 1, subjectLightStops: 1 },
      { largestSettingStops: 1 },
      { sideToSideStops: 1 },
      { sidesSwapped: true },
      { mired: 30 },
      { fallOff: () => ({ stops: 1, by: 'own-skin' as const }) },
    ] satisfies Partial<ArrangementChange>[])
      expect(isAnother(changed(told as Partial<ArrangementChange>))).toBe(true);
  });

  it('is only the camera touched where light, colour, side and fall-off stood, or the level did', () => {
    const touched = { largestSettingStops: 1 };
    expect(onlySettingsChanged(changed(touched))).toBe(true);
    expect(onlySettingsChanged(NO_CHANGE)).toBe(false);
    expect(onlySettingsChanged(changed({ ...touched, mired: 20 }))).toBe(false);
    expect(onlySettingsChanged(changed({ ...touched, sideToSideStops: 1 }))).toBe(false);
    expect(onlySettingsChanged(changed({ ...touched, sidesSwapped: true }))).toBe(false);
    expect(onlySettingsChanged(changed({ ...touched, fallOff: () => ({ stops: 1, by: 'own-skin' }) as never }))).toBe(
      false,
    );
    const lit = { ...touched, wallLightStops: -1, subjectLightStops: -1 };
    expect(onlySettingsChanged(changed({ ...lit, levelStops: 0.27 }))).toBe(true);
    expect(onlySettingsChanged(changed({ ...lit, levelStops: 0.28 }))).toBe(false);
    expect(onlySettingsChanged(changed({ ...lit, levelStops: null }))).toBe(false);
  });
});

describe('two arrangements', () => {
  const nobody = (): ReadonlyMap<number, SeenSitter> => new Map();
  const arrangement = (told: Partial<Arrangement> = {}): Arrangement => ({
    frames: [],
    wallLightStops: -1,
    wallLevelStops: -1,
    sideToSideStops: 1,
    brightSide: 1,
    mired: 180,
    av: 6,
    sv: 5,
    tv: 7,
    settingsStops: -1,
    focalLog2: 6.4,
    settingsWander: false,
    sitters: nobody,
    sittersAtUsualSettings: nobody,
    ...told,
  });
  const between = (told: Partial<Arrangement>, weight = 0, before: Partial<Arrangement> = {}) =>
    changeBetween(arrangement(before), arrangement(told), weight);

  it('differ by second minus first', () => {
    expect(
      between({
        wallLightStops: -0.5,
        wallLevelStops: 0.5,
        sideToSideStops: 1.75,
        mired: 200,
        focalLog2: 7.4,
        settingsStops: 0,
        av: 5,
      }),
    ).toMatchObject({
      wallLightStops: 0.5,
      subjectLightStops: null,
      levelStops: 1.5,
      sideToSideStops: 0.75,
      sidesSwapped: false,
      mired: 20,
      settingsStops: 1,
      largestSettingStops: 1,
      focalLog2: 1,
      cameraTouched: true,
      sittersShared: false,
      sittersRecognised: false,
    });
    expect(between({ wallLevelStops: null }).levelStops).toBeNull();
  });

  it('have the shutter counted by its weight, and noticed under flash as well', () => {
    expect(between({ tv: 8 })).toMatchObject({ largestSettingStops: 0, cameraTouched: true });
    expect(between({ tv: 8 }, 1)).toMatchObject({ largestSettingStops: 1 });
    expect(between({ tv: 8 }, 0.5)).toMatchObject({ largestSettingStops: 0.5 });
    expect(between({ tv: 7.24 })).toMatchObject({ cameraTouched: false });
    expect(between({ tv: 6.75 })).toMatchObject({ cameraTouched: true });
    expect(between({ sv: 4 })).toMatchObject({ largestSettingStops: 1, cameraTouched: true });
    expect(between({ av: null, sv: null, tv: null }, 1)).toMatchObject({
      largestSettingStops: 0,
      cameraTouched: false,
    });
  });

  it('of which one wanders in its settings differ in no setting', () => {
    expect(between({ av: 5, settingsWander: true })).toMatchObject({ largestSettingStops: 0, cameraTouched: true });
    expect(between({ av: 5 }, 0, { settingsWander: true })).toMatchObject({ largestSettingStops: 0 });
  });

  it('have the light from the other side where both have one', () => {
    expect(between({ brightSide: -1 }).sidesSwapped).toBe(true);
    expect(between({ brightSide: null }).sidesSwapped).toBe(false);
    expect(between({ brightSide: 0 }).sidesSwapped).toBe(false);
  });

  it('are plainly two by settings, colour or side, without looking at sitters', () => {
    const plainly = (told: Partial<Arrangement>, before: Partial<Arrangement> = {}) =>
      plainlyAnother(arrangement(before), arrangement(told));
    expect(plainly({})).toBe(false);
    expect([plainly({ av: 6.25 }), plainly({ av: 6.24 }), plainly({ sv: 4.75 }), plainly({ sv: 5.24 })]).toEqual([
      true,
      false,
      true,
      false,
    ]);
    expect([plainly({ av: 7, settingsWander: true }), plainly({ av: 7 }, { settingsWander: true })]).toEqual([
      false,
      false,
    ]);
    expect([plainly({ mired: 198 }), plainly({ mired: 197 }), plainly({ mired: null })]).toEqual([true, false, false]);
    expect([plainly({ brightSide: -1 }), plainly({ brightSide: null })]).toEqual([true, false]);
  });
});

describe('a set-up that may not have been metered for', () => {
  const T = 0.25;
  const before: Departure = { fromSetupPlace: 0, settingsStops: 0, lightStops: -0.5, sure: true };
  const after = (told: Partial<ArrangementChange>, from: Departure | null = null, pause = false) =>
    departureOf(changed(told), from, 3, pause, T);
  const lit = (stops: number) => ({ wallLightStops: stops, subjectLightStops: stops });
  const dial = (stops: number) => ({ settingsStops: stops, largestSettingStops: Math.abs(stops), cameraTouched: true });

  it('departs by the light that moved under hands off the camera', () => {
    expect(after(lit(-0.5))).toEqual({ fromSetupPlace: 3, settingsStops: 0, lightStops: -0.5, sure: true });
    expect(after(lit(0.2))).toBeNull();
  });

  it('departs by a setting that was knocked while the light stood', () => {
    expect(after(dial(0.5))).toEqual({ fromSetupPlace: 3, settingsStops: 0.5, lightStops: 0, sure: true });
    expect(after({ ...dial(0.2), cameraTouched: false })).toBeNull();
  });

  it('was metered where light and camera both moved, by a quarter of a stop of light', () => {
    expect(after({ ...lit(-0.5), ...dial(0.5) })).toBeNull();
    expect(after({ ...lit(-0.24), ...dial(0.5) })).toEqual({
      fromSetupPlace: 3,
      settingsStops: 0.5,
      lightStops: -0.24,
      sure: true,
    });
  });

  it('was set where the camera was touched in a pause, or for somebody else', () => {
    expect(after(dial(0.5), null, true)).toBeNull();
    expect(after({ ...dial(0.5), sittersShared: false })).toBeNull();
    expect(after({ ...dial(0.5), sittersRecognised: true })).toBeNull();
  });

  it('was metered where two more respects changed, or one with the camera touched or nobody in both', () => {
    const dark = lit(-1);
    expect(after({ ...dark, mired: 20 })).not.toBeNull();
    expect(after({ ...dark, mired: 20, sideToSideStops: 0.6 })).toBeNull();
    expect(after({ ...dark, mired: 20, focalLog2: -0.7 })).toBeNull();
    expect(after({ ...dark, mired: 20, focalLog2: 0.69 })).not.toBeNull();
    expect(after({ ...dial(0.5), mired: 20 })).toBeNull();
    const wallOnly = { wallLightStops: -1, subjectLightStops: null, sittersShared: false };
    expect(after(wallOnly)).toEqual({ fromSetupPlace: 3, settingsStops: 0, lightStops: -1, sure: false });
    expect(after({ ...wallOnly, mired: 20 })).toBeNull();
    expect(after(wallOnly, null, true)).toBeNull();
  });

  it('is doubtful after a pause, and then only from 1.6 tolerances on', () => {
    expect(after(lit(-0.5), null, true)).toMatchObject({ lightStops: -0.5, sure: false });
    expect(after(lit(-0.4), null, true)).toBeNull();
    expect(after(lit(-0.41), null, true)).toMatchObject({ sure: false });
  });

  it('goes on from the departure before, and is back within 0.85 of the tolerance', () => {
    expect(after(lit(-0.5), before)).toEqual({ fromSetupPlace: 0, settingsStops: 0, lightStops: -1, sure: true });
    expect(after(dial(-0.5), before)).toEqual({ fromSetupPlace: 0, settingsStops: -0.5, lightStops: -0.5, sure: true });
    expect(after(lit(0.29), before)).toBeNull();
    expect(after(lit(0.25), before)).toMatchObject({ lightStops: -0.25 });
    expect(after(lit(0.28), { ...before, sure: false })).toMatchObject({ sure: false });
  });

  it('is as before where only the sitter changed before a steady wall, since skin is never a fault', () => {
    const sitter = { wallLightStops: 0.1, subjectLightStops: -0.5 };
    expect(after(sitter)).toBeNull();
    expect(after(sitter, before)).toBe(before);
    expect(after({ ...sitter, sideToSideStops: 0.6 })).toMatchObject({ lightStops: -0.5 });
    expect(after({ ...sitter, wallLightStops: -0.22 })).toMatchObject({ lightStops: -0.5 });
    expect(after({ wallLightStops: null, subjectLightStops: -0.5 })).toMatchObject({ lightStops: -0.5 });
  });
});

describe('a pause', () => {
  it('is longer than a minute and than eight usual intervals', () => {
    expect([isPause(60_000, 1000), isPause(60_001, 1000)]).toEqual([false, true]);
    expect([isPause(80_000, 10_000), isPause(80_001, 10_000)]).toEqual([false, true]);
    expect([isPause(null, 1000), isPause(99_999, null)]).toEqual([false, false]);
  });
});
