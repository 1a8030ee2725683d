import { factsOf, type FrameFacts } from '../../src/shoot/facts.js';
import { fakeMeasurement, type FakeFrame } from './measurement.js';

export const START_MS = 1_780_000_000_000;

/** A measured frame as judging is given it. */
export const inputOf = (name: string, fake: FakeFrame = {}) => ({
  name,
  measurement: fakeMeasurement(fake),
  failure: null,
  measurementHref: null,
});

/** What judging makes of it. */
export const factOf = (fake: FakeFrame = {}): FrameFacts => {
  const input = inputOf('F1', fake);
  return factsOf(input, input.measurement, 0);
};
