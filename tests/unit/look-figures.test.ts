import { describe, expect, it } from 'vitest';
import { figuresOf } from '../../src/shoot/look/figures.js';
import { sequenceFrame } from '../support/frame-context.js';
import { NO_FIGURES } from '../support/no-change.js';

describe('the figures of a set-up', () => {
  it('are medians with robust spreads over the frames that show them', () => {
    const frames = [-1, 0, 1, null].map((faceLevelStops) =>
      sequenceFrame({
        faceLevelStops,
        bodyLevelStops: null,
        backgroundLevelStops: -1,
        wallMired: 200,
        wallDuv: 0.003,
        sideToSideStops: 0.5,
        lowerBody: { levelStops: -2, basis: 'skin', faceToLowerBodyLightStops: 0.4 },
      }),
    );
    expect(figuresOf(frames)).toEqual({
      // 1.4826 x the median deviation of 1; the frame without person has no say.
      subjectLevel: { medianStops: 0, spreadStops: 1.4826, frames: 3 },
      backgroundLevel: { medianStops: -1, spreadStops: 0, frames: 4 },
      personToBackground: { medianStops: 1, spreadStops: 1.4826, frames: 3 },
      sideToSide: { medianStops: 0.5, spreadStops: 0, frames: 3 },
      faceToLowerBodyLight: { medianStops: 0.4, spreadStops: 0, frames: 4 },
      castMired: { medianMired: 46.25, spreadMired: 0, frames: 4 },
      castDuv: { medianDuv: 0.003, spreadDuv: 0, frames: 4 },
    });
  });

  it('are nothing without frames that show them; one frame has no spread', () => {
    expect(figuresOf([])).toEqual(NO_FIGURES);
    const one = figuresOf([sequenceFrame({ person: false, wallMired: null, wallDuv: null })]);
    expect([one.subjectLevel, one.backgroundLevel, one.faceToLowerBodyLight]).toEqual([null, null, null]);
    expect(figuresOf([sequenceFrame({ faceLevelStops: 0.5 })]).subjectLevel).toEqual({
      medianStops: 0.5,
      spreadStops: null,
      frames: 1,
    });
  });
});
