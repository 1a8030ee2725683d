import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import sharp from 'sharp';
import { beforeAll, describe, expect, it } from 'vitest';
import type { MeasuredFrame } from '../../src/contracts/jobs.js';
import type { FrameMeasurement } from '../../src/contracts/measurement.js';
import { MeasuringOptions } from '../../src/contracts/options.js';
import { ShootPlan } from '../../src/contracts/plan.js';
import type { CorrectedFrame, ShootReport } from '../../src/contracts/report.js';
import { correctedFrames } from '../../src/render/corrected-frames.js';
import { correctedPreview } from '../../src/render/before-after.js';
import { judgeShoot } from '../../src/shoot/judge.js';
import { measureFrame } from '../../worker/measure-frame.js';
import { REPOSITORY } from '../support/cli.js';

/*
 * The advice, carried out: the corrected half of the before-and-after picture is measured like any frame, and has to
 * stand within tolerance where the frame that it came from did not. Set-ups s3 and s6 of the sample shoot.
 */
const NAMES = [17, 18, 20, 22, 24, 34, 35, 41, 42, 43, 44, 45, 46, 47, 48].map((n) => `MKR_00${n}.jpg`);
const options = MeasuringOptions.parse({});
const TOLERANCE_STOPS = ShootPlan.parse({}).toleranceStops;

const before = new Map<string, MeasuredFrame>();
let report: ShootReport;

beforeAll(async () => {
  for (const name of NAMES) {
    before.set(name, await measureFrame(readFileSync(join(REPOSITORY, 'samples', 'shoot', name)), options));
  }
  const frames = [...before].map(([name, { measurement }]) => ({ name, measurement, failure: null, measurementHref: null })); // prettier-ignore
  report = judgeShoot({ shoot: { id: 'x', name: 'x' }, plan: ShootPlan.parse({}), frames });
}, 180_000);

interface Corrected {
  frame: CorrectedFrame;
  was: FrameMeasurement;
  is: FrameMeasurement;
}

async function corrected(name: string): Promise<Corrected> {
  const frame = correctedFrames(report).find((one) => one.name === name);
  const measured = before.get(name);
  if (frame === undefined || measured === undefined) throw new Error(`${name} was not measured`);
  const { measurement, products } = measured;
  const { data, widthPx, heightPx } = await correctedPreview({ frame, measurement, products, calibrations: [] });
  const png = await sharp(data, { raw: { width: widthPx, height: heightPx, channels: 3 } })
    .png()
    .toBuffer();
  return { frame, was: measurement, is: (await measureFrame(png, options)).measurement };
}

/** By how many stops the face's level differs between two measurements. */
function faceMoved(was: FrameMeasurement, is: FrameMeasurement): number {
  return Math.abs((is.people[0]?.face?.levelStops ?? NaN) - (was.people[0]?.face?.levelStops ?? NaN));
}

describe('corrections carried out on the preview', () => {
  it('a frame of a light that fell short stands within tolerance of its set-up', async () => {
    const { frame, was, is } = await corrected('MKR_0024.jpg');
    const moved = (is.people[0]?.face?.levelStops ?? NaN) - (was.people[0]?.face?.levelStops ?? NaN);
    expect(Math.abs(frame.deviation.fromSetupStops ?? NaN)).toBeGreaterThan(TOLERANCE_STOPS);
    expect(Math.abs((frame.deviation.fromSetupStops ?? NaN) + moved)).toBeLessThan(TOLERANCE_STOPS);
    const asked = frame.corrections.find(({ step }) => step === 'level')?.stops ?? NaN;
    expect(Math.abs(moved - asked)).toBeLessThan(0.1);
  });

  it.each(['MKR_0046.jpg', 'MKR_0048.jpg'])('%s: the lower body comes up to the face, the face stays', async (name) => {
    const { frame, was, is } = await corrected(name);
    const fallBefore = was.people[0]?.faceToLowerBodyLightStops ?? NaN;
    const fallAfter = is.people[0]?.faceToLowerBodyLightStops ?? NaN;
    const lift = frame.lifts.find(({ region }) => region === 'lower-body')?.stops ?? NaN;
    expect(fallBefore).toBeGreaterThan(TOLERANCE_STOPS);
    expect(Math.abs(fallAfter)).toBeLessThan(TOLERANCE_STOPS);
    expect(Math.abs(fallBefore - fallAfter - lift)).toBeLessThan(0.1);
    expect(faceMoved(was, is)).toBeLessThan(0.05);
  });

  it.each(['MKR_0034.jpg', 'MKR_0035.jpg'])('%s: the wall takes on the colour of its set-up', async (name) => {
    const { frame, was, is } = await corrected(name);
    const asked = frame.corrections.find(({ step }) => step === 'cast')?.mired ?? NaN;
    const moved = (is.colour.backgroundMired ?? NaN) - (was.colour.backgroundMired ?? NaN);
    expect(Math.abs(asked)).toBeGreaterThan(40);
    expect(Math.abs(moved - asked)).toBeLessThan(0.1 * Math.abs(asked));
    expect(faceMoved(was, is)).toBeLessThan(0.15);
  });
});
