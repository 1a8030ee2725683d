import { describe, expect, it } from 'vitest';
import type { Correction } from '../../src/contracts/correction.js';
import type { CorrectedFrame, Flag, FlagCode, Severity } from '../../src/contracts/report.js';
import { headlineOf } from '../../src/render/html/headline.js';
import { fakeCorrectedFrame, type FakeFrame } from '../support/report.js';

const flag = (code: FlagCode, severity: Severity = 'fault', stops?: number): Flag => ({ code, severity, because: 'because', ...(stops === undefined ? {} : { stops }) }); // prettier-ignore
const frame = (fake: Partial<FakeFrame>, more: Partial<CorrectedFrame> = {}): CorrectedFrame => ({
  ...fakeCorrectedFrame({ name: 'P1.jpg', fromSetupStops: -0.5, ...fake }),
  ...more,
});
const LEVEL = { value: '−0.50', unit: 'stops', of: null };

describe('the one number of a frame on the contact sheet', () => {
  it('is the level against its set-up where nothing is flagged, and where the flag is about the level', () => {
    expect(headlineOf(frame({}))).toEqual(LEVEL);
    expect(headlineOf(frame({ flags: [flag('light-missing')] }))).toEqual(LEVEL);
  });

  it('is none where the level is not known', () => {
    expect(headlineOf(frame({ fromSetupStops: null }))).toBeNull();
    expect(headlineOf(fakeCorrectedFrame({ name: 'P1.jpg', verdict: 'unreadable' }))).toBeNull();
  });

  it('is that of the worst flag, and of no note', () => {
    const shares = frame({ flags: [flag('face-dark', 'check', -0.4), flag('highlights-clipped', 'fault')] });
    expect(headlineOf(shares)).toMatchObject({ of: 'clipped', unit: '' });
    expect(headlineOf(frame({ flags: [flag('face-dark', 'note', -0.4)] }))).toEqual(LEVEL);
  });

  it.each([
    ['face-dark', 'face'],
    ['face-bright', 'face'],
    ['background-shifted', 'background'],
  ] as const)('%s: its own stops, and what they are of', (code, of) => {
    expect(headlineOf(frame({ flags: [flag(code, 'fault', 1.25)] }))).toEqual({ value: '+1.25', unit: 'stops', of });
    // Without them, the level.
    expect(headlineOf(frame({ flags: [flag(code)] }))).toEqual(LEVEL);
  });

  it('legs: says whether it is light, of skin, or brightness, of cloth', () => {
    const dark = frame({ flags: [flag('lower-body-dark')] });
    const [person] = dark.people;
    if (person === undefined) throw new Error('a person expected');
    const of = (more: Partial<typeof person>) => headlineOf({ ...dark, people: [{ ...person, ...more }] });
    expect(of({ basis: 'skin', faceToLowerBodyLightStops: 2.5 })).toEqual({ value: '+2.50', unit: 'stops', of: 'face over legs, light' }); // prettier-ignore
    expect(of({ basis: 'clothing', faceToLowerBodyLightStops: null, faceToLowerBodyStops: 3 })).toEqual({ value: '+3.00', unit: 'stops', of: 'face over legs, brightness' }); // prettier-ignore
  });

  it('contrast: the side-to-side difference of the main person', () => {
    const contrast = flag('contrast-shifted');
    expect(headlineOf(frame({ flags: [contrast] }))).toEqual({ value: '+0.70', unit: 'stops', of: 'side to side' });
    expect(headlineOf(frame({ flags: [contrast], withoutPerson: true }))).toEqual(LEVEL);
  });

  it('cast: the shift itself, against the correction that undoes it', () => {
    const flags = [flag('cast-shifted')];
    const cast: Correction = { step: 'cast', region: 'frame', stops: null, mired: -61, duv: 0, toward: 'set-up', limitedBy: null, because: 'cooler' }; // prettier-ignore
    const corrected = frame({ flags }, { corrections: [cast] });
    expect(headlineOf(corrected)).toEqual({ value: '+61', unit: 'mired', of: 'cast' });
    expect(headlineOf(frame({ flags }))).toEqual(LEVEL);
  });

  it('clipping: shares, each of what it is', () => {
    const clipping = { highlightsShare: 0.1, largestHighlightAreaShare: 0, facesShare: 0.25, blacksShare: 0.5 };
    const of = (code: FlagCode) => headlineOf(frame({ flags: [flag(code)] }, { clipping }));
    expect(of('highlights-clipped')?.value).toMatch(/^10(\.0+)? %$/);
    expect(of('face-clipped')).toMatchObject({ of: 'of the face clipped' });
    expect(of('face-clipped')?.value).toMatch(/^25(\.0+)? %$/);
    expect(of('blacks-clipped')?.value).toMatch(/^50(\.0+)? %$/);
    expect(headlineOf(frame({ flags: [flag('blacks-clipped')] }, { clipping: null }))).toEqual(LEVEL);
  });
});
