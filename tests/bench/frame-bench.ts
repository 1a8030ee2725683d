import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { MeasuringOptions } from '../../src/contracts/options.js';
import { StageTimer } from '../../worker/measure/stage-timer.js';
import { measureFrame } from '../../worker/measure-frame.js';
import { sharp } from '../../worker/decode/sharp-setup.js';
import { medianOf } from '../accuracy/row.js';
import { bigFrame, CAMERA_SIZED, SMOOTH, type BigFrame } from './big-frame.js';
import { cpuMs, programCpuMs, row } from './cpu.js';

/** `frame-bench.ts [runs]`: what a 24-megapixel JPEG costs, in CPU, against bare decodes of the same file. */
const runs = Number(process.argv[2] ?? 15);
const PIXELS = 24_000_000;
/** They load the models and compile: a measuring process goes through that once, and lives for a shoot. */
const WARM_UP_RUNS = 5;
const options = MeasuringOptions.parse({});

// The stages' own figures are times by the clock, which on a busy machine say nothing.
let lastCpu = process.cpuUsage();
StageTimer.prototype.lap = function lap(stage) {
  const { user, system } = process.cpuUsage(lastCpu);
  lastCpu = process.cpuUsage();
  this.milliseconds[stage] = (user + system) / 1000;
};

async function whatOneCosts(what: string, made: BigFrame): Promise<void> {
  const frame = await bigFrame(made);
  const folder = mkdtempSync(join(tmpdir(), 'stopledger-bench-'));
  const path = join(folder, 'frame.jpg');
  writeFileSync(path, frame);
  const [bare, djpeg, whole]: [number[], number[], number[]] = [[], [], []];
  const stages = new Map<string, number[]>();
  try {
    for (let run = -WARM_UP_RUNS; run < runs; run++) {
      const bareMs = await cpuMs(() => sharp(frame, { sequentialRead: true }).raw().toBuffer());
      lastCpu = process.cpuUsage();
      const wholeMs = await cpuMs(async () => {
        const { measurement } = await measureFrame(frame, options);
        if (measurement.people.length !== 1) throw new Error(`expected one person, found ${measurement.people.length}`);
        if (measurement.tone.code8Histograms.red.reduce((a, b) => a + b, 0) !== PIXELS)
          throw new Error('pixels went missing');
        if (run < 0) return;
        for (const [stage, ms] of Object.entries(measurement.timing))
          stages.set(stage, [...(stages.get(stage) ?? []), ms]);
      });
      if (run < 0) continue;
      bare.push(bareMs);
      whole.push(wholeMs);
    }
    // Apart from the rest: starting a program leaves this process's pages to be copied when they are written next.
    for (let run = 0; run < runs; run++) {
      const djpegMs = programCpuMs('djpeg', path);
      if (djpegMs !== null) djpeg.push(djpegMs);
    }
  } finally {
    rmSync(folder, { recursive: true });
  }
  const [decode, all] = [medianOf(bare), medianOf(whole)];
  const ms = (value: number) => `(${value.toFixed(0)} ms CPU)`;
  console.log(`\n24-megapixel JPEG, ${what} (${(frame.length / 1e6).toFixed(1)} MB), one person, median of ${runs}, malloc as in measuring processes`); // prettier-ignore
  row('bare sharp decode', 1, ms(decode));
  if (djpeg.length > 0)
    row('djpeg (its malloc, writing PPM to nowhere)', medianOf(djpeg) / decode, ms(medianOf(djpeg)));
  else console.log('  djpeg is not installed (Debian: apt-get install libjpeg-turbo-progs)');
  row('measureFrame, everything', all / decode, `${ms(all)}; goal 2.00`);
  if (djpeg.length > 0) row('measureFrame, against djpeg', all / medianOf(djpeg), 'goal 2.00');
  for (const [stage, values] of stages)
    row(`  ${stage.replace(/Ms$/, '')}`, medianOf(values) / decode, ms(medianOf(values)));
}

await whatOneCosts('smooth', SMOOTH);
await whatOneCosts('as large as from a camera', CAMERA_SIZED);
