import { medianOf } from '../accuracy/row.js';
import { sharp } from '../../worker/decode/sharp-setup.js';
import { bigFrame, SMOOTH } from './big-frame.js';
import { cpuMs } from './cpu.js';

/** `bare-bench.ts`: prints the CPU of a bare decode under whatever malloc setting this process was started with. */
const frame = await bigFrame(SMOOTH);
const times: number[] = [];
for (let run = 0; run < 9; run++)
  times.push(await cpuMs(() => sharp(frame, { sequentialRead: true }).raw().toBuffer()));
console.log(`  bare sharp decode under ${process.env.GLIBC_TUNABLES ?? 'the default malloc setting'}: ${medianOf(times).toFixed(0)} ms CPU`); // prettier-ignore
