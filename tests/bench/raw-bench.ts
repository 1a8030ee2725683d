import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { MeasuringOptions } from '../../src/contracts/options.js';
import { decodeFrame } from '../../worker/decode/decode-frame.js';
import { withLibRaw } from '../../worker/decode/libraw-module.js';
import { SETTINGS } from '../../worker/decode/libraw-settings.js';
import { CROP_TO_STRIP } from '../../worker/decode/raw-cells.js';
import { sharp } from '../../worker/decode/sharp-setup.js';
import { measureFrame } from '../../worker/measure-frame.js';
import { openFrame } from '../../worker/open-frame.js';
import { medianOf } from '../accuracy/row.js';
import { mosaicOf, writeDng } from '../support/dng-writer.js';
import { cpuMs, isInstalled, programCpuMs, row } from './cpu.js';

/** `raw-bench.ts`: 24-megapixel DNGs at half size, against Debian's dcraw -h, in CPU. */
const RUNS = 7;
const [WIDTH, HEIGHT] = [4000, 6000];

const source = readFileSync(fileURLToPath(new URL('../../samples/shoot/MKR_0001.jpg', import.meta.url)));
const scene = await sharp(source).resize(WIDTH, HEIGHT).removeAlpha().raw().toBuffer();
const linear = Float32Array.from({ length: 256 }, (_, code) => 0.6 * (code / 255) ** 2.2);
const mosaic = mosaicOf(WIDTH, HEIGHT, 512, 16_383, (x, y) => {
  const i = (y * WIDTH + x) * 3;
  return [linear[scene[i]!]!, linear[scene[i + 1]!]!, linear[scene[i + 2]!]!];
});
const content = { mosaic, widthPx: WIDTH, heightPx: HEIGHT, blackLevel: 512, whiteLevel: 16_383 };
const options = MeasuringOptions.parse({});
if (!isInstalled('dcraw')) console.log('\n  dcraw is not installed (Debian: apt-get install dcraw)');
await bench('16 bits, uncompressed', writeDng({ ...content, neutral: [0.5, 1, 0.7] }));
await bench('14 bits, lossless JPEG', writeDng({ ...content, neutral: [0.5, 1, 0.7], losslessBits: 14 }));

async function bench(kind: string, bytes: Buffer): Promise<void> {
  const folder = mkdtempSync(join(tmpdir(), 'stopledger-bench-'));
  const path = join(folder, 'frame.dng');
  writeFileSync(path, bytes);
  const [dcraw, reading, decoding, measuring]: [number[], number[], number[], number[]] = [[], [], [], []];
  try {
    for (let run = -1; run < RUNS; run++) {
      const dcrawMs = programCpuMs('dcraw', '-h', '-c', path);
      const readMs = await cpuMs(() => readOnly(bytes));
      const decodeMs = await cpuMs(() => decode(bytes));
      const measureMs = await cpuMs(() => measureFrame(bytes, options));
      if (run < 0) continue;
      if (dcrawMs !== null) dcraw.push(dcrawMs);
      reading.push(readMs);
      decoding.push(decodeMs);
      measuring.push(measureMs);
    }
  } finally {
    rmSync(folder, { recursive: true });
  }
  const cpu = (values: number[]) =>
    `(${medianOf(values).toFixed(0)} ms CPU, ${Math.min(...values).toFixed(0)} at least)`;
  console.log(`\nA 24-megapixel DNG, ${kind}, at half size, median of ${RUNS}`);
  const base = dcraw.length > 0 ? medianOf(dcraw) : null;
  if (base !== null) row('dcraw -h', 1, cpu(dcraw));
  row('LibRaw reads the mosaic, and 64 rows of it', base && medianOf(reading) / base, cpu(reading));
  row('decoded to linear codes here', base && medianOf(decoding) / base, `${cpu(decoding)}; goal 0.45`);
  row('measureFrame, everything', base && medianOf(measuring) / base, cpu(measuring));
}

/** What it costs where LibRaw has to read the whole mosaic. */
async function readOnly(bytes: Buffer): Promise<void> {
  await withLibRaw((libraw) => {
    libraw.open(bytes, { ...SETTINGS, cropbox: CROP_TO_STRIP });
    if (libraw.imageData()?.width !== WIDTH / 2) throw new Error('the strip went missing');
  });
}

async function decode(bytes: Buffer): Promise<void> {
  const { sniffed, orientation, exifColourSpace } = await openFrame(bytes);
  const { maxPixels } = options;
  const { data } = await decodeFrame(bytes, sniffed, { maxPixels, orientation, exifColourSpace });
  if (data.length !== (WIDTH / 2) * (HEIGHT / 2) * 3) throw new Error('pixels went missing');
}
