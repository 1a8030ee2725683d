import { describe, expect, it } from 'vitest';
import { ShootPlan } from '../../src/contracts/plan.js';
import { judgeShoot } from '../../src/shoot/judge.js';
import { fakeShoot, times } from '../support/fake-shoot.js';

/** Frames of one contrast, `L` with the image-left half of the face bright, `R` with the other. */
function judgeSides(sides: string, sideToSideStops: number) {
  const frames = fakeShoot(times(sides.length, { sideToSideStops }));
  frames.forEach(({ measurement }, i) => {
    const face = measurement?.people[0]?.face;
    if (face) face.brightSide = sides[i] === 'L' ? 'image-left' : 'image-right';
  });
  return judgeShoot({ shoot: { id: 'x', name: 'x' }, plan: ShootPlan.parse({ light: 'flash' }), frames });
}

describe('a light taken to the other side', () => {
  it('makes a set-up of its own, and is known when it is back', () => {
    const report = judgeSides('LLLLLLRRRRRRLLLLLL', 1.5);
    expect(report.setups.map(({ frames }) => frames.length)).toEqual([6, 6, 6]);
    expect(report.setups[1]?.changeFromPrevious?.because).toContain('ight from the other side');
    expect(report.setups[2]?.description).toContain('as s1 again');
    expect(report.summary.consistent).toBe(18);
  });

  it('is not one head turned, nor a face that is lit alike on both halves', () => {
    expect(judgeSides('LLLLLLRLLLLLL', 1.5).setups).toHaveLength(1);
    expect(judgeSides('LLRRLLLRRRRRRRLLLLLL', 0.3).setups).toHaveLength(1);
  });
});
