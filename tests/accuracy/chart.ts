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
/** The same from the average of 30 measured charts; which kind this chart is, its file does not say. */
const STEPS_OF_30_CHARTS = [0.633, 0.711, 0.911, 1.098, 1.481];
/** White to black of each, from the same tables. */
const RANGE_STOPS = 4.805;
const RANGE_OF_30_CHARTS_STOPS = 4.834;

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
  const readSteps = STEPS.map((_, i) => levels[i]! - levels[i + 1]!);
  const readRange = levels[0]! - levels[5]!;
  const row = (what: string, measured: number, truth: string): AccuracyRow => ({
    section: 'a real raw chart (one camera, lit unevenly, a bright window behind it)',
    what,
    measured,
    goal: 0.1,
    unit: 'stop',
    sense: 'most',
    truth,
  });
  const [after2014, of30] = ['published L* of the grey row after Nov 2014', 'published average of 30 charts'];
  return [
    ...STEPS.map((step, i) =>
      row(
        `grey ${i + 1} to grey ${i + 2}: read ${readSteps[i]!.toFixed(3)}, published ${step}`,
        Math.abs(readSteps[i]! - step),
        after2014,
      ),
    ),
    row('worst of the five steps', Math.max(...readSteps.map((s, i) => Math.abs(s - STEPS_OF_30_CHARTS[i]!))), of30),
    // Veiling glare lifts the black patch: a range shorter than published is glare (or uneven light) that stays in the levels.
    row(
      `white to black: read ${readRange.toFixed(3)}, published ${RANGE_STOPS} (30 charts ${RANGE_OF_30_CHARTS_STOPS}); what is missing is glare`,
      Math.abs(readRange - RANGE_STOPS),
      after2014,
    ),
  ];
}
