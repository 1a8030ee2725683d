import type { SquareRegion } from './crop.js';

/**
 * Farthest that two squares may be apart for a second look to see what the first saw: middles in shares of the side, sides as
 * the logarithm of their ratio, turns in radians. On 108 pictures no further difference within these moved a level more.
 */
const FARTHEST = { shift: 0.06, size: 0.13, turn: 0.12 } as const;

/** Whether the body landmark network sees the same in two squares. */
export function isSameView(a: SquareRegion, b: SquareRegion): boolean {
  const turn = a.turn - b.turn;
  return (
    Math.hypot(a.centre.x - b.centre.x, a.centre.y - b.centre.y) <= FARTHEST.shift * b.sidePx &&
    Math.abs(Math.log(a.sidePx / b.sidePx)) <= FARTHEST.size &&
    Math.abs(turn - 2 * Math.PI * Math.round(turn / (2 * Math.PI))) <= FARTHEST.turn
  );
}
