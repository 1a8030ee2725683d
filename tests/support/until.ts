import { setImmediate } from 'node:timers/promises';

/** Looks again until it is so; the test's own time limit is the one for what never comes. */
export async function until(so: () => boolean | Promise<boolean>): Promise<void> {
  while (!(await so())) await setImmediate();
}
