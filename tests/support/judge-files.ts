import { readFileSync } from 'node:fs';
import { asStopledgerError } from '../../src/errors.js';
import { decodeFrame } from '../../worker/decode/decode-frame.js';
import { openFrame } from '../../worker/open-frame.js';

/**
 * Reads and decodes the files named, one after another, as a measuring process does, and prints a line of JSON for each: its
 * error code or null, CPU time in seconds, and by how many bytes the process's peak of memory rose.
 */
const peakBytes = (): number => process.resourceUsage().maxRSS * 1024;
const MAX_PIXELS = 4_000_000;

for (const path of process.argv.slice(2)) {
  const bytes = readFileSync(path);
  const [peakBefore, cpuBefore] = [peakBytes(), process.cpuUsage()];
  let code: string | null = null;
  try {
    const { sniffed, orientation, exifColourSpace } = await openFrame(bytes);
    await decodeFrame(bytes, sniffed, { maxPixels: MAX_PIXELS, orientation, exifColourSpace });
  } catch (thrown) {
    code = asStopledgerError(thrown).code;
  }
  const { user, system } = process.cpuUsage(cpuBefore);
  const line = { path, code, cpuSeconds: (user + system) / 1e6, peakRoseBytes: peakBytes() - peakBefore };
  process.stdout.write(`${JSON.stringify(line)}\n`);
}
