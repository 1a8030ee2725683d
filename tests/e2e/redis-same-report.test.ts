import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { describe, expect, it, onTestFinished } from 'vitest';
import { ShootReport } from '../../src/contracts/report.js';
import { CLUSTER_INSTALLED, CLUSTER_NOTE } from '../cluster/cluster.js';
import { VARIANTS, type Variant, answerOf, differences, embeddedAnswer, startVariant } from '../cluster/same-answer.js';
import { SAMPLES, type SimulatedFrame, sampleFrames, simulatedFrames } from '../cluster/simulated-frames.js';

/** Two set-ups, a frame that did not fire, and one of knocked settings among them. */
const CHOSEN = new Set(
  [1, 2, 3, 7, 8, 9, 16, 17, 18, 29, 30, 33].map((n) => `MKR_00${String(n).padStart(2, '0')}.jpg`),
);

/** The short form of `npm run cluster -- --same`, which takes all of the sample shoot and 500 simulated frames. */
describe.skipIf(!CLUSTER_INSTALLED)(`a shoot spread over three workers${CLUSTER_NOTE}`, () => {
  let frames: SimulatedFrame[] = [];
  let plan: unknown;
  let alone: Awaited<ReturnType<typeof embeddedAnswer>>;

  it('is measured by the service alone first', async () => {
    const simulated = await simulatedFrames({ frames: 20, seed: 'short', widthPx: 320, wholeEvery: 2 });
    frames = [...(await sampleFrames()).filter(({ name }) => CHOSEN.has(name)), ...simulated];
    plan = JSON.parse(await readFile(join(SAMPLES, 'plan.json'), 'utf8')) as unknown;
    alone = await embeddedAnswer(frames, plan);
    const { summary } = ShootReport.parse(JSON.parse(alone.report));
    expect(summary).toMatchObject({ frames: CHOSEN.size + 20, unreadable: 0 });
  }, 300_000);

  it.each(Object.keys(VARIANTS) as Variant[])(
    'gives the very bytes of it over %s',
    async (variant) => {
      const cluster = await startVariant(variant, 'source');
      onTestFinished(() => cluster.stop());
      const services = { urls: cluster.apis.map(({ url }) => url), headers: cluster.headers };
      const spread = await answerOf(services, frames, plan);
      expect(differences(alone, spread)).toEqual([]);
      expect(spread.parts.size).toBe(3 * frames.length);
      for (const one of [...cluster.workers, ...cluster.apis]) await expect(one.kill('SIGTERM')).resolves.toBe(0);
    },
    300_000,
  );
});
