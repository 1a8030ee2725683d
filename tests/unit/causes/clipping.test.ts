import { describe, expect, it } from 'vitest';
import { clippingFlags } from '../../../src/shoot/causes/clipping.js';
import { contextOf, type ToldContext } from '../../support/frame-context.js';
import type { FakeFrame } from '../../support/measurement.js';
import { codes } from '../../support/frame-flags.js';

/* Parts of one frame against its set-up, all said outright; limits are those that each cause states beside its constants. */
describe('lost detail', () => {
  const lost = (fake: FakeFrame, medians: ToldContext['medians'] = {}) => clippingFlags(contextOf({ fake, medians }));

  it('in the face: looked at from a hundredth of it, off from a twentieth', () => {
    expect(codes(lost({ facesClippedShare: 0.01 }))).toEqual([]);
    expect(codes(lost({ facesClippedShare: 0.02 }))).toEqual(['face-clipped check']);
    expect(codes(lost({ facesClippedShare: 0.05 }))).toEqual(['face-clipped check']);
    expect(codes(lost({ facesClippedShare: 0.06 }))).toEqual(['face-clipped fault']);
    expect(lost({ facesClippedShare: 0.06 })[0]).toMatchObject({
      region: 'face',
      because:
        '6.0 % of the face is at the top of the scale in at least one channel (looked at from 1.0 %); no correction brings that back.',
    });
    expect(codes(lost({ faceLevelStops: null }))).toEqual([]);
  });

  it('in the frame: half a hundredth in one piece and a hundredth in all, off from three hundredths in one piece', () => {
    const high = (largestHighlightAreaShare: number, highlightsShare: number, medians = {}) =>
      lost({ largestHighlightAreaShare, highlightsShare }, medians);
    expect(codes(high(0.005, 0.02))).toEqual([]);
    expect(codes(high(0.006, 0.01))).toEqual([]);
    expect(codes(high(0.006, 0.011))).toEqual(['highlights-clipped check']);
    expect(codes(high(0.03, 0.04))).toEqual(['highlights-clipped check']);
    expect(codes(high(0.031, 0.04))).toEqual(['highlights-clipped fault']);
    expect(high(0.031, 0.2)[0]).toMatchObject({
      region: 'frame',
      because: '20 % of the frame is at the top of the scale, 3.1 % in one piece.',
    });
  });

  it('as in the rest of the set-up is a note; more than there counts by what is more', () => {
    const ground = { largestHighlightAreaShare: 0.2, highlightsShare: 0.3 };
    const high = (area: number, all: number) => lost({ largestHighlightAreaShare: area, highlightsShare: all }, ground);
    expect(codes(high(0.2049, 0.3099))).toEqual(['highlights-clipped note']);
    expect(high(0.2, 0.3)[0]?.because).toMatch(/20 % in one piece, as in the rest of s1\.$/);
    expect(codes(high(0.206, 0.3))).toEqual(['highlights-clipped check']);
    expect(codes(high(0.2, 0.311))).toEqual(['highlights-clipped check']);
    expect(codes(high(0.229, 0.33))).toEqual(['highlights-clipped check']);
    expect(codes(high(0.231, 0.33))).toEqual(['highlights-clipped fault']);
  });

  it('in the blacks: from eight hundredths, off from a quarter, against the set-up', () => {
    expect(codes(lost({ blacksShare: 0.08 }))).toEqual([]);
    expect(codes(lost({ blacksShare: 0.09 }))).toEqual(['blacks-clipped check']);
    expect(codes(lost({ blacksShare: 0.25 }))).toEqual(['blacks-clipped check']);
    expect(codes(lost({ blacksShare: 0.26 }))).toEqual(['blacks-clipped fault']);
    expect(lost({ blacksShare: 0.26 })[0]).toMatchObject({
      region: 'frame',
      because: '26 % of the frame is at the bottom of the scale.',
    });
    expect(codes(lost({ blacksShare: 0.5 }, { blacksShare: 0.43 }))).toEqual(['blacks-clipped note']);
    expect(lost({ blacksShare: 0.5 }, { blacksShare: 0.5 })[0]?.because).toMatch(/scale, as in the rest of s1\.$/);
    expect(codes(lost({ blacksShare: 0.5 }, { blacksShare: 0.41 }))).toEqual(['blacks-clipped check']);
    expect(codes(lost({ blacksShare: 0.5 }, { blacksShare: 0.24 }))).toEqual(['blacks-clipped fault']);
  });
});
