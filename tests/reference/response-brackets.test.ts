import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { bracketFromSamples, type BracketFrameSamples } from '../../src/photometry/response-fit/bracket.js';
import { fitResponse } from '../../src/photometry/response-fit/fit-response.js';
import { stepChecks } from '../../src/photometry/response-fit/residual.js';
import { ASSUMED_CAMERA_CURVE } from '../../src/photometry/tone-response.js';
import { sampleFrame } from '../../worker/sample-frame.js';

/** Real exposure brackets of still scenes, exposure changed by the shutter; read where they lie, never copied. */
const folder = join('..', 'shared', 'brackets');
const SETS = ['canon-t2i-room', 'canon5d2-fisheye-office', 'canon-t2i-moving'];

async function load(set: string): Promise<BracketFrameSamples[]> {
  const frames: BracketFrameSamples[] = [];
  for (const name of readdirSync(join(folder, set))) {
    const s = await sampleFrame(readFileSync(join(folder, set, name)), { maxPixels: 1e9 });
    const { av, tv, sv } = s.exposure;
    frames.push({ exposureStops: sv! - av! - tv!, ...s });
  }
  return frames.sort((a, b) => a.exposureStops - b.exposureStops);
}

describe.skipIf(!existsSync(folder))('real brackets (skipped where ../shared is absent)', () => {
  it.each(SETS)('%s: the assumed curve reads within 0.15 of one stop a stop', async (set) => {
    const bracket = bracketFromSamples(await load(set));
    const steps = stepChecks(
      ASSUMED_CAMERA_CURVE,
      bracket,
      bracket.exposureStops.map((_, i) => i),
    );
    const ratios = steps.map((s) => s.measuredStops / s.trueStops);
    const mean = ratios.reduce((a, b) => a + b, 0) / ratios.length;
    expect(Math.abs(mean - 1)).toBeLessThan(0.15);
  });

  it.each(SETS.slice(0, 2))('%s: calibrated on the odd frames, read on the even ones', async (set) => {
    const frames = await load(set);
    const fit = fitResponse(bracketFromSamples(frames.filter((_, i) => i % 2 === 0)));
    if ('refused' in fit) throw new Error(fit.refused);
    const even = bracketFromSamples(frames.filter((_, i) => i % 2 === 1));
    const steps = stepChecks(
      fit.curve,
      even,
      even.exposureStops.map((_, i) => i),
    );
    for (const s of steps) expect(Math.abs(s.measuredStops - s.trueStops) / s.trueStops).toBeLessThan(0.06);
  });
});
