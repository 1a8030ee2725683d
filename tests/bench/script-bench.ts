import { readdirSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { readFileSync } from 'node:fs';
import { MeasuringOptions } from '../../src/contracts/options.js';
import { measureFrame } from '../../worker/measure-frame.js';
import { medianOf } from '../accuracy/row.js';
import { cpuMs, isInstalled, programCpuMs, row } from './cpu.js';

/** `script-bench.ts`: the sample shoot by a general script (exiftool, then a histogram, a frame at a time) and here. */
const FRAMES = 12;
const folder = fileURLToPath(new URL('../../samples/shoot/', import.meta.url));
const paths = readdirSync(folder)
  .slice(0, FRAMES)
  .map((name) => join(folder, name));
const options = MeasuringOptions.parse({});
const magick = ['convert-im6.q16', 'magick', 'convert'].find(isInstalled);
console.log(
  `\nA general script (exiftool -json, ImageMagick histogram) a frame, and here; ${FRAMES} frames of the sample shoot, CPU`,
);
if (magick === undefined || !isInstalled('exiftool')) {
  console.log('  left out (Debian: apt-get install imagemagick libimage-exiftool-perl)');
} else {
  const [script, here]: [number[], number[]] = [[], []];
  await measureFrame(readFileSync(paths[0]!), options);
  for (const path of paths) {
    const exif = programCpuMs('exiftool', '-json', path)!;
    const histogram = programCpuMs(magick, path, '-format', '%c', 'histogram:info:-')!;
    script.push(exif + histogram);
    here.push(await cpuMs(() => measureFrame(readFileSync(path), options)));
  }
  const rate = (values: number[]) =>
    `(${medianOf(values).toFixed(0)} ms CPU a frame, ${(1000 / medianOf(values)).toFixed(1)} frames a CPU second)`;
  row('the script, which finds no one', 1, rate(script));
  row('measureFrame, models loaded', medianOf(here) / medianOf(script), rate(here));
}
