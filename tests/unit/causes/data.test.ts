import { describe, expect, it } from 'vitest';
import { dataFlags } from '../../../src/shoot/causes/data.js';
import { contextOf, type ToldContext } from '../../support/frame-context.js';
import type { FakeFrame } from '../../support/measurement.js';
import { codes } from '../../support/frame-flags.js';

/* Parts of one frame against its set-up, all said outright; limits are those that each cause states beside its constants. */
describe('what is not there to judge by', () => {
  const data = (fake: FakeFrame, told: ToldContext = {}) => dataFlags(contextOf({ ...told, fake }));
  const whole: FakeFrame = { lowerBody: { levelStops: 0, basis: 'skin' } };

  it('is nothing of a whole frame', () => {
    expect(data(whole)).toEqual([]);
  });

  it('is told by name, always as a note', () => {
    expect(data({ ...whole, fNumber: null, iso: null })).toEqual([
      {
        code: 'no-exposure-data',
        severity: 'note',
        because:
          'The file does not tell fNumber, iso: it is judged on what it shows, settings and light not told apart.',
      },
    ]);
    expect(data({ ...whole, exposureTimeSeconds: null })[0]?.because).toMatch(/tell exposureTimeSeconds:/);
    expect(data({})).toEqual([
      {
        code: 'lower-body-not-in-frame',
        severity: 'note',
        region: 'lower-body',
        because: 'No lower body is in the frame, so nothing is said about light on it.',
      },
    ]);
    expect(data({ ...whole, confidence: 0.34 })).toEqual([
      {
        code: 'low-confidence',
        severity: 'note',
        because: 'The person was found with confidence 0.34 only (told under 0.35).',
      },
    ]);
    expect(data({ ...whole, confidence: 0.35 })).toEqual([]);
    expect(data(whole, { light: { witnesses: 'none' } })).toEqual([
      {
        code: 'low-confidence',
        severity: 'note',
        because:
          'Neither another frame of this sitter nor a readable background is there to compare with, so no level is judged.',
      },
    ]);
  });

  it('names what stands for a face: the body, else the whole frame', () => {
    expect(data({ ...whole, faceLevelStops: null, bodyLevelStops: -0.5 })).toEqual([
      {
        code: 'no-face',
        severity: 'note',
        because: 'No face with a level was found; the body stands for the subject.',
      },
    ]);
    expect(data({ ...whole, faceLevelStops: null })[0]?.because).toMatch(/; the whole frame stands/);
    expect(codes(data({ person: false }))).toEqual(['no-face note']);
  });
});
