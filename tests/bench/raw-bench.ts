import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { MeasuringOptions } from '../../src/contracts/options.js';
import { decodeFrame } from '../../worker/decode/decode-frame.js';
import { sharp } from '../../worker/decode/sharp-setup.js';
import { measureFrame } from '../../worker/measure-frame.js';
import { openFrame } from '../../worker/open-frame.js';
import { medianOf } from '../accuracy/row.js';
import { mosaicOf, writeDng } from '../support/dng-writer.js';
import { cpuMs, programCpuMs, row } from './cpu.js';

/** `raw-bench.ts`: a 24-megapixel DNG at half size, against Debian's dcraw -h, in CPU. */
const RUNS = 5;
const [WIDTH, HEIGHT] = [4000, 6000];

const source = readFileSync(fileURLToPath(new URL('../../samples/shoot/MKR_0001.jpg', import.meta.url)));
const scene = await sharp(source).resize(WIDTH, HEIGHT).removeAlpha().raw().toBuffer();
const linear = Float32Array.from({ length: 256 }, (_, code) => 0.6 * (code / 255) ** 2.2);
const mosaic = mosaicOf(WIDTH, HEIGHT, 512, 16_383, (x, y) => {
  const i = (y * WIDTH + x) * 3;
  return [linear[scene[i]!]!, linear[scene[i + 1]!]!, linear[scene[i + 2]!]!];
});
const bytes = writeDng({ mosaic, widthPx: WIDTH, heightPx: HEIGHT, blackLevel: 512, whiteLevel: 16_383, neutral: [0.5, 1, 0.7] }); // prettier-ignore
const folder = mkdtempSync(join(tmpdir(), 'stopledger-bench-'));
const path = join(folder, 'frame.dng');
writeFileSync(path, bytes);
const options = MeasuringOptions.parse({});
const [dcraw, decoding, measuring]: [number[], number[], number[]] = [[], [], []];
try {
  for (let run = -1; run < RUNS; run++) {
    const dcrawMs = programCpuMs('dcraw', '-h', '-c', path);
    const decodeMs = await cpuMs(async () => {
      const { sniffed, orientation, exifColourSpace } = await openFrame(bytes);
      const { data } = await decodeFrame(bytes, sniffed, {
        maxPixels: options.maxPixels,
        orientation,
        exifColourSpace,
      });
      if (data.length !== (WIDTH / 2) * (HEIGHT / 2) * 3) throw new Error('pixels went missing');
    });
    const measureMs = await cpuMs(() => measureFrame(bytes, options));
    if (run < 0) continue;
    if (dcrawMs !== null) dcraw.push(dcrawMs);
    decoding.push(decodeMs);
    measuring.push(measureMs);
  }
} finally {
  rmSync(folder, { recursive: true });
}
const cpu = (values: number[]) => `(${medianOf(values).toFixed(0)} ms CPU)`;
console.log(`\nA 24-megapixel DNG, 16 bits uncompressed, at half size, median of ${RUNS}`);
if (dcraw.length === 0) console.log('  dcraw is not installed (Debian: apt-get install dcraw)');
const base = dcraw.length > 0 ? medianOf(dcraw) : null;
if (base !== null) row('dcraw -h', 1, cpu(dcraw));
row('decoded to linear codes here', base && medianOf(decoding) / base, `${cpu(decoding)}; goal 0.45`);
row('measureFrame, everything', base && medianOf(measuring) / base, cpu(measuring));
