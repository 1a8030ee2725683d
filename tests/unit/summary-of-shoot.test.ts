import { describe, expect, it } from 'vitest';
import { codesOf, judgeFakes, lit, times } from '../support/fake-shoot.js';

describe('the most representative frame of a set-up', () => {
  it('is one that is consistent, and nearest to the medians of level, wall, contrast and colour', () => {
    const frames = [
      ...times(2, lit(0.25)),
      ...times(1),
      ...times(2, lit(-0.2)),
      ...times(1, { sideToSideStops: 1.5 }),
      ...times(1, { wallMired: 190, skinMired: 250 }),
      ...times(1, lit(-3)),
    ];
    const report = judgeFakes(frames, { light: 'flash' });
    expect(report.setups.map(({ representativeFrame }) => representativeFrame)).toEqual(['F003.jpg']);
  });

  it('is told for every set-up, from among its own frames', () => {
    const report = judgeFakes([...times(8), ...times(8, { fNumber: 4, ...lit(1.5) })], { light: 'flash' });
    expect(report.setups.length).toBeGreaterThan(1);
    for (const { frames, representativeFrame } of report.setups) expect(frames).toContain(representativeFrame);
  });

  it('is nobody’s where no frame is consistent', () => {
    const report = judgeFakes(times(3, { facesClippedShare: 0.3 }), { light: 'flash' });
    expect(report.setups[0]?.representativeFrame).toBeNull();
  });
});

describe('the findings', () => {
  const frames = times(20);
  // One silent flash, three frames a stop over, one clipped face a little over what is looked at.
  frames[3] = { ...frames[3], ...lit(-3.5) };
  for (const i of [8, 9, 10]) frames[i] = { ...frames[i], iso: 200, ...lit(1) };
  frames[15] = { ...frames[15], facesClippedShare: 0.02 };
  const report = judgeFakes(frames, { light: 'flash' });

  it('are three at most, each a plain sentence that names frames and set-up', () => {
    expect(report.summary.findings).toHaveLength(3);
    for (const finding of report.summary.findings) expect(finding).toMatch(/^[A-Z].*F0\d\d\.jpg.*\(s1\).*\.$/);
  });

  it('come in order of what they cost: more frames, and further off, first', () => {
    const [first, second, third] = report.summary.findings;
    expect(first).toMatch(/^Camera settings were changed in F009.jpg, F010.jpg, F011.jpg/);
    expect(second).toMatch(/^The flash did not fire in F004.jpg/);
    expect(third).toMatch(/^Faces are clipped in F016.jpg/);
  });

  it('say that all is well where it is', () => {
    const clean = judgeFakes(times(6), { light: 'flash' });
    expect(codesOf(clean, 0)).toEqual([]);
    expect(clean.summary.findings[0]).toMatch(/^All 6 frames are consistent in 1 set-up/);
  });
});
