import type { FrameMeasurement } from '../../contracts/measurement.js';
import type { Person } from '../../contracts/people.js';

/** The person whom the frame is about. */
export const mainPerson = ({ people }: FrameMeasurement): Person | undefined => people.find((p) => p.main) ?? people[0];
