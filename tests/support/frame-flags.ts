import type { Flag } from '../../src/contracts/report.js';
import { levelFlags } from '../../src/shoot/causes/level.js';
import { contextOf, type ToldContext } from './frame-context.js';

/** Flags as tests read them: `light-changed fault`, in their order. */
export const codes = (flags: readonly Flag[]): string[] => flags.map(({ code, severity }) => `${code} ${severity}`);

/** Of the flags, the sentence of one. */
export const sentence = (flags: readonly Flag[], code: string): string =>
  flags.find((flag) => flag.code === code)?.because ?? 'no such flag';

/** What is told of the level of a frame about which this is known. */
export const levelTold = (told: ToldContext): string[] => codes(levelFlags(contextOf(told)));

/** A frame on which so much more light fell, in stops. */
export const light = (lightStops: number, more: ToldContext['light'] = {}): ToldContext => ({
  light: { lightStops, ...more },
});

/** The aperture opened by so many stops, the light as it was. */
export const opened = (settingsStops: number, fNumber: number, more: ToldContext = {}): ToldContext => ({
  ...more,
  fake: { fNumber, ...more.fake },
  light: { settingsStops, ...more.light },
});
