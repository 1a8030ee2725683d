import { spawnSync } from 'node:child_process';
import { mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { MeasuringOptions } from '../../src/contracts/options.js';
import { measureFrame } from '../../worker/measure-frame.js';
import { peakMemoryMiB } from './cpu.js';

/** `memory-bench.ts [frames]`: memory of one measuring process over many frames, and at 45 megapixels. */
const frames = Number(process.argv[2] ?? 300);
const options = MeasuringOptions.parse({});
const folder = fileURLToPath(new URL('../../samples/shoot/', import.meta.url));
const shoot = readdirSync(folder).map((name) => readFileSync(folder + name));
const residentMiB = () => (process.memoryUsage.rss() / 1024 ** 2).toFixed(0);

console.log(`\nMemory of one measuring process, ${frames} frames of 0.5 to 0.6 megapixels`);
const marks = new Set([1, 2, 3, 4].map((quarter) => Math.round((quarter * frames) / 4)));
for (let n = 1; n <= frames; n++) {
  await measureFrame(shoot[n % shoot.length]!, options);
  if (n === Math.min(50, frames) || marks.has(n)) console.log(`  after ${String(n).padStart(5)} frames: ${residentMiB()} MiB resident`); // prettier-ignore
}
console.log(`  highest so far: ${peakMemoryMiB().toFixed(0)} MiB`);

const scratch = mkdtempSync(join(tmpdir(), 'stopledger-memory-'));
const file = join(scratch, 'large.jpg');
const maker = fileURLToPath(new URL('write-large-frame.ts', import.meta.url));
const made = spawnSync(process.execPath, ['--import', 'tsx', maker, file], { stdio: 'inherit' });
if (made.status !== 0) throw new Error(`the large frame could not be made: exit status ${made.status}`);
const large = readFileSync(file);
rmSync(scratch, { recursive: true });
for (let n = 0; n < 5; n++) await measureFrame(large, options);
console.log(`  45 megapixels, 5 frames: ${residentMiB()} MiB resident, at most ${peakMemoryMiB().toFixed(0)} MiB; goal 667 (700 MB)`); // prettier-ignore
