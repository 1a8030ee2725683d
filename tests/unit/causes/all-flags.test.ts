import { describe, expect, it } from 'vitest';
import type { Flag } from '../../../src/contracts/report.js';
import { flagsOf, verdictOf } from '../../../src/shoot/flags.js';
import { contextOf } from '../../support/frame-context.js';
import { codes } from '../../support/frame-flags.js';

/* Parts of one frame against its set-up, all said outright; limits are those that each cause states beside its constants. */
describe('all flags of a frame', () => {
  it('hold each code once, the worse of two, faults first, numbers to four decimals', () => {
    const flags = flagsOf(
      contextOf({
        fake: {
          faceLevelStops: 0.5,
          facesClippedShare: 0.02,
          confidence: 0.3,
          lowerBody: { levelStops: 0, basis: 'skin' },
        },
        light: { lightStops: 1.000049, witnesses: 'both' },
        cast: { mired: 20 },
      }),
    );
    expect(codes(flags)).toEqual([
      'light-changed fault',
      'level-off-baseline fault',
      'cast-shifted check',
      'face-clipped check',
      'low-confidence note',
    ]);
    expect(flags[0]?.stops).toBe(1);
    const departure = { fromSetupPlace: 0, settingsStops: 0, lightStops: 0.3, sure: true };
    const twice = flagsOf(contextOf({ light: { lightStops: -2 }, setup: { departure, departedFromId: 's0' } }));
    expect(twice.filter(({ code }) => code === 'level-off-baseline')).toMatchObject([{ severity: 'fault', stops: -2 }]);
  });

  it('make the verdict by the worst', () => {
    const flag = (severity: Flag['severity'], code: Flag['code'] = 'face-dark'): Flag => ({
      code,
      severity,
      because: '',
    });
    expect(verdictOf([])).toBe('consistent');
    expect(verdictOf([flag('note')])).toBe('consistent');
    expect(verdictOf([flag('note'), flag('check')])).toBe('check');
    expect(verdictOf([flag('check'), flag('fault')])).toBe('off');
    expect(verdictOf([flag('fault'), flag('fault', 'unreadable')])).toBe('unreadable');
  });
});
