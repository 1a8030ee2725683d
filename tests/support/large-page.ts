import { readFile, readdir } from 'node:fs/promises';
import { fileURLToPath } from 'node:url';
import sharp from 'sharp';
import { ShootPlan } from '../../src/contracts/plan.js';
import type { FrameMeasurement } from '../../src/contracts/measurement.js';
import { renderReportHtml } from '../../src/render/html.js';
import { collectReportExtras } from '../../src/render/report-pictures.js';
import { judgeShoot } from '../../src/shoot/judge.js';
import { manyFrames } from '../bench/many-frames.js';

const SHOOT = fileURLToPath(new URL('../../samples/shoot/', import.meta.url));

/** The page of a simulated shoot of so many frames, each with a preview of the sample shoot, as it is written to disk. */
export async function largePage(frames: number): Promise<string> {
  const inputs = manyFrames(frames);
  const report = judgeShoot({ shoot: { id: 'large', name: `${frames} frames` }, plan: ShootPlan.parse({}), frames: inputs }); // prettier-ignore
  const measurements = new Map<string, FrameMeasurement>();
  for (const { name, measurement } of inputs) if (measurement !== null) measurements.set(name, measurement);
  const files = (await readdir(SHOOT)).filter((name) => name.endsWith('.jpg'));
  const previews = await Promise.all(
    files.map(async (name) =>
      sharp(await readFile(`${SHOOT}${name}`))
        .resize(320, 320, { fit: 'inside' })
        .jpeg()
        .toBuffer(),
    ),
  );
  const order = new Map(report.frames.map(({ name }, i) => [name, i]));
  const extras = await collectReportExtras(report, {
    preview: async (name) => previews[(order.get(name) ?? 0) % previews.length] ?? null,
    measurement: async (name) => measurements.get(name) ?? null,
    beforeAfter: () => null,
  });
  return renderReportHtml(report, extras);
}
