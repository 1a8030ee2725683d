import { MeasuringOptions } from '../../src/contracts/options.js';
import { medianOf } from '../accuracy/row.js';
import { measureFrame } from '../../worker/measure-frame.js';
import { sharp } from '../../worker/decode/sharp-setup.js';
import { bigFrame } from './big-frame.js';

const RUNS = 7;

/** CPU milliseconds (user and system, all threads) that `work` takes. */
async function cpuMs(work: () => Promise<unknown>): Promise<number> {
  const before = process.cpuUsage();
  await work();
  const { user, system } = process.cpuUsage(before);
  return (user + system) / 1000;
}

const frame = await bigFrame();
const options = MeasuringOptions.parse({});
const { measurement } = await measureFrame(frame, options);
if (measurement.people.length !== 1) throw new Error(`expected one person, found ${measurement.people.length}`);
if (measurement.tone.code8Histograms.red.reduce((a, b) => a + b, 0) !== 24_000_000)
  throw new Error('pixels went missing');

const bare: number[] = [];
const whole: number[] = [];
const stages = new Map<string, number[]>();
for (let run = 0; run < RUNS; run++) {
  bare.push(await cpuMs(() => sharp(frame, { sequentialRead: true }).raw().toBuffer()));
  whole.push(
    await cpuMs(async () => {
      const { timing } = (await measureFrame(frame, options)).measurement;
      for (const [stage, ms] of Object.entries(timing)) stages.set(stage, [...(stages.get(stage) ?? []), ms]);
    }),
  );
}
const decode = medianOf(bare);
console.log(
  `One 24-megapixel JPEG (${(frame.length / 1e6).toFixed(1)} MB), one person, median of ${RUNS} runs, one process`,
);
console.log(`  bare sharp decode                 1.00   (${decode.toFixed(0)} ms CPU)`);
console.log(
  `  measureFrame, CPU                 ${(medianOf(whole) / decode).toFixed(2)}   (${medianOf(whole).toFixed(0)} ms CPU)`,
);
for (const [stage, values] of stages) {
  console.log(
    `    ${stage.replace(/Ms$/, '').padEnd(30)}  ${(medianOf(values) / decode).toFixed(2)}   (${medianOf(values).toFixed(0)} ms wall)`,
  );
}
