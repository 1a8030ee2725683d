import type { PlannedSetup } from '../../src/contracts/plan.js';
import { sequenceFrame } from './frame-context.js';
import type { FakeFrame } from './measurement.js';

/** What judging makes of a frame. */
export const facts = (fake: FakeFrame = {}) => sequenceFrame(fake).facts;
export const planned = (told: Partial<PlannedSetup>): PlannedSetup => ({ name: 'portraits', ...told });

/** What the shutter counts for. */
export const FLASH = 0;
export const CONTINUOUS = 1;
