import { MeasuringOptions } from '../../src/contracts/options.js';
import { measureFrame } from '../../worker/measure-frame.js';
import { medianOf } from '../accuracy/row.js';
import { groupFrame } from './big-frame.js';
import { cpuMs, row } from './cpu.js';

/** `group-bench.ts`: what seven people in a frame cost against one in a frame of the same size. */
const RUNS = 5;
const PEOPLE = 7;
const options = MeasuringOptions.parse({});
const { group, one } = await groupFrame(PEOPLE);
const [groupCpu, oneCpu]: [number[], number[]] = [[], []];
let found = 0;
for (let run = -1; run < RUNS; run++) {
  const oneMs = await cpuMs(async () => {
    const { measurement } = await measureFrame(one, options);
    if (measurement.people.length !== 1) throw new Error(`expected one person, found ${measurement.people.length}`);
  });
  const groupMs = await cpuMs(async () => {
    found = (await measureFrame(group, options)).measurement.people.length;
  });
  if (run < 0) continue;
  oneCpu.push(oneMs);
  groupCpu.push(groupMs);
}
console.log(`\nA group of ${PEOPLE} in 24 megapixels (${found} of them found), median of ${RUNS}`);
row('one person', 1, `(${medianOf(oneCpu).toFixed(0)} ms CPU)`);
row(
  `a group of ${PEOPLE}`,
  medianOf(groupCpu) / medianOf(oneCpu),
  `(${medianOf(groupCpu).toFixed(0)} ms CPU); goal 3.00`,
);
