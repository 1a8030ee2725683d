import { existsSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { decodeFrame } from '../../worker/decode/decode-frame.js';
import { sniffFormat } from '../../worker/read/sniff-format.js';
import { reduceFrame } from '../../worker/measure/reduce.js';
import { workingImageOf } from '../../worker/measure/working-image-of.js';
import { STRAIGHT } from '../../src/photometry/tone-response.js';
import type { AccuracyRow } from './row.js';

const FILE = fileURLToPath(new URL('../../../shared/files/dng/colorchart.dng', import.meta.url));
export const CHART_PRESENT = existsSync(FILE);

/** Centres of the six greys, white to black, in pixels of the half-size picture (867 x 578), read off it by eye. */
const GREYS = [
  [352, 465],
  [407, 463],
  [462, 463],
  [518, 462],
  [573, 461],
  [628, 460],
] as const;
const HALF_PX = 11;
/** Stops between neighbours from the published Y of the grey row, charts after Nov 2014 (white first). */
const STEPS = [0.578, 0.693, 0.937, 1.112, 1.484];

/** Level of each grey in stops re mid-grey, raw, averaged in linear light. */
export async function chartGreyLevels(): Promise<number[]> {
  const bytes = readFileSync(FILE);
  const sniffed = sniffFormat(bytes);
  if (sniffed === null) throw new Error('the chart is no image');
  const decoded = await decodeFrame(bytes, sniffed, { maxPixels: 1e8, orientation: 1 });
  const { linearY, widthPx } = workingImageOf(
    reduceFrame(decoded, (y) => y),
    decoded,
    STRAIGHT,
  );
  return GREYS.map(([cx, cy]) => {
    let sum = 0;
    let n = 0;
    for (let y = cy - HALF_PX; y <= cy + HALF_PX; y++)
      for (let x = cx - HALF_PX; x <= cx + HALF_PX; x++, n++) sum += linearY[y * widthPx + x]!;
    return Math.log2(sum / n / 0.18);
  });
}

export async function chartRows(): Promise<AccuracyRow[]> {
  if (!CHART_PRESENT) return [];
  const levels = await chartGreyLevels();
  return STEPS.map((step, i) => ({
    section: 'a real raw chart (one camera, lit unevenly, a bright window behind it)',
    what: `grey ${i + 1} to grey ${i + 2}: read ${(levels[i]! - levels[i + 1]!).toFixed(3)}, published ${step}`,
    measured: Math.abs(levels[i]! - levels[i + 1]! - step),
    goal: 0.1,
    unit: 'stop',
    sense: 'most' as const,
    truth: 'published L* of the grey row after Nov 2014',
  }));
}
