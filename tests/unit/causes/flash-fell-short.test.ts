import { describe, expect, it } from 'vitest';
import { lightCause } from '../../../src/shoot/causes/light-told.js';
import { contextOf, type ToldContext } from '../../support/frame-context.js';

/*
 * One frame against its set-up, the light and settings said outright. Tolerance 1/4 stop, response uncertain by 0.1 a stop,
 * so a fault needs |d| > 0.25 + 0.1 |d| + e: of the light alone, with e = 0.05, from a third of a stop on.
 */
describe('the likeliest cause of less flash', () => {
  const cause = (stops: number, told: ToldContext = {}) => lightCause(contextOf(told), stops);

  it('is that it did not fire, from 1.3 stops on; from 0.6 where the file says so and others fired', () => {
    expect(cause(-1.3).code).toBe('light-missing');
    expect(cause(-1.29).code).toBe('light-short');
    expect(cause(-1.3).because).toBe(
      'The light fell by 1.30 stops with the settings accounted for: the flash did not fire.',
    );
    const silent: ToldContext = { fake: { flashFired: false }, medians: { someFlashFired: true } };
    expect(cause(-0.6, silent).code).toBe('light-missing');
    expect(cause(-0.6, silent).because).toMatch(/the flash did not fire; the file says that it did not fire\.$/);
    expect(cause(-0.59, silent).code).toBe('light-short');
    expect(cause(-0.6, { ...silent, medians: { someFlashFired: false } }).code).toBe('light-short');
    expect(cause(-0.6, { ...silent, fake: { flashFired: null } }).code).toBe('light-short');
  });

  it('is that it was not recharged, soon after the frame before, of two frames in a row at most', () => {
    expect(cause(-0.5).because).toBe(
      'The flash gave 0.50 stops less than usual 10.0 s after the frame before (usually 10.0 s): fired before it was recharged.',
    );
    expect(cause(-0.5, { sincePreviousMs: 15_000 }).code).toBe('light-short');
    expect(cause(-0.5, { sincePreviousMs: 15_001 }).code).toBe('light-changed');
    expect(cause(-0.5, { sincePreviousMs: null }).because).toMatch(
      /^The flash gave 0\.50 stops less than usual: fired/,
    );
    expect(cause(-0.5, { usualIntervalMs: null }).because).toMatch(/less than usual: fired/);
    const low = { light: { lightStops: -0.26 } };
    const half = { light: { lightStops: -0.25 } };
    const unknown = { light: { lightStops: null } };
    const run = (before: ToldContext[], after: ToldContext[]) => cause(-0.5, { before, after }).code;
    expect(run([low], [])).toBe('light-short');
    expect(run([low], [low])).toBe('light-changed');
    expect(run([low, low], [])).toBe('light-changed');
    expect(run([], [low, low])).toBe('light-changed');
    expect(run([low, {}], [{}, low])).toBe('light-short');
    expect(run([low, half], [half, low])).toBe('light-short');
    expect(run([low, unknown], [unknown, low])).toBe('light-short');
  });

  it('is nothing of a flash in continuous light, nor where the light rose', () => {
    expect(cause(-2, { kind: 'continuous' }).code).toBe('light-changed');
    expect(cause(-2, { kind: 'continuous' }).because).toMatch(
      /fell by 2\.00 stops .* turned or down; \+6 third-stop steps undo/,
    );
    expect(cause(2).code).toBe('light-changed');
  });
});
