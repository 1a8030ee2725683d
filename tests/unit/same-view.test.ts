import { describe, expect, it } from 'vitest';
import { isSameView } from '../../worker/people/same-view.js';

describe('one view of a body', () => {
  const square = { centre: { x: 300, y: 500 }, sidePx: 1000, turn: 0.05 };

  it.each([
    ['the square itself', {}],
    ['a little beside it', { centre: { x: 335, y: 540 } }],
    ['a little larger', { sidePx: 1100 }],
    ['a little turned', { turn: 0.16 }],
    ['turned by a whole circle', { turn: 0.05 - 2 * Math.PI }],
  ])('is %s', (_, other) => {
    expect(isSameView(square, { ...square, ...other })).toBe(true);
    expect(isSameView({ ...square, ...other }, square)).toBe(true);
  });

  it.each([
    ['farther beside it', { centre: { x: 350, y: 540 } }],
    ['half as large again', { sidePx: 1500 }],
    ['a third smaller', { sidePx: 667 }],
    ['turned by ten degrees', { turn: 0.05 - Math.PI / 18 }],
    ['upside down', { turn: 0.05 + Math.PI }],
  ])('is not what is %s', (_, other) => {
    expect(isSameView(square, { ...square, ...other })).toBe(false);
    expect(isSameView({ ...square, ...other }, square)).toBe(false);
  });
});
