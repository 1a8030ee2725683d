import { execFile } from 'node:child_process';
import { writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { promisify } from 'node:util';
import { describe, expect, it } from 'vitest';
import { BOMBS } from '../support/bombs.js';
import { SEEDS } from '../support/seed-images.js';
import { temporaryFolder } from '../support/temporary-folder.js';

const JUDGE = fileURLToPath(new URL('../support/judge-files.ts', import.meta.url));
/** Of all bombs together. The smallest of them asks for more than ten times that; allowed for are their own bytes and the heap's growth. */
const MOST_PEAK_RISE_BYTES = 160e6;

interface Line {
  path: string;
  code: string | null;
  cpuSeconds: number;
  peakRoseBytes: number;
}

describe('small files that ask for gigabytes', () => {
  it('are refused, or measured without what they ask for: in the process that reads them memory hardly rises', async () => {
    const folder = temporaryFolder();
    const names = Object.keys(BOMBS);
    const paths = names.map((_, index) => join(folder, String(index)));
    for (const [index, { make }] of Object.values(BOMBS).entries()) await writeFile(paths[index] ?? '', await make());
    // Whole files first, so that what the decoders themselves need is there before.
    const whole = await Promise.all(
      (['jpeg', 'png', 'plain tiff', 'avif', 'gif', 'dng'] as const).map(async (name) => {
        await writeFile(join(folder, name), await SEEDS[name]());
        return join(folder, name);
      }),
    );
    const { stdout } = await promisify(execFile)(process.execPath, ['--import', 'tsx', JUDGE, ...whole, ...paths]);
    const lines = stdout.trim().split('\n').map((line) => JSON.parse(line) as Line); // prettier-ignore
    expect(lines.slice(0, whole.length).map(({ code }) => code)).toEqual(whole.map(() => null));
    const judged = lines.slice(whole.length);
    expect(Object.fromEntries(judged.map(({ code }, index) => [names[index], code]))).toEqual(
      Object.fromEntries(Object.entries(BOMBS).map(([name, { code }]) => [name, code])),
    );
    const rises = judged.map(({ peakRoseBytes }, index) => `${names[index]}: ${Math.round(peakRoseBytes / 1e6)} MB`);
    const rise = judged.reduce((sum, { peakRoseBytes }) => sum + peakRoseBytes, 0);
    expect(rise, rises.join('; ')).toBeLessThan(MOST_PEAK_RISE_BYTES);
  });
});
