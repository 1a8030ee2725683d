/**
 * Makes samples/shoot, samples/truth.json and samples/plan.json. Run: npx tsx samples/make/make-shoot.ts
 * Needs the studio renders; the committed files need nothing.
 */
import { mkdir, readdir, rm, writeFile } from 'node:fs/promises';
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import { ShootPlan, type ShootPlanInput } from '../../src/contracts/plan.js';
import { planShoot } from './shoot-frames.js';
import { SETUPS } from './scenario.js';
import { STUDIO_PRESENT } from './studio.js';
import { ShootTruth, type FrameTruth } from './truth.js';
import { renderFrameWithTruth } from './virtual-camera.js';

const SAMPLES = fileURLToPath(new URL('../', import.meta.url));
const SHOOT = path.join(SAMPLES, 'shoot');

const PLAN: ShootPlanInput = {
  schemaVersion: 1,
  light: 'flash',
  toleranceStops: 1 / 3,
  toneResponse: 'auto',
  notes:
    "Village hall makers' portrait day, one camera, one soft light metered at the face for f/8 at 1/125 s and ISO 100.",
};

/** Mean change of the face's light from the set-up before, over sitters with frames as intended in both. */
function levelFromPrevious(frames: readonly FrameTruth[], setupId: string): number | null {
  const before = SETUPS[SETUPS.findIndex((setup) => setup.id === setupId) - 1];
  if (before === undefined) return null;
  const level = (setup: string, figure: string): number | null => {
    const levels = frames
      .filter((f) => f.setup === setup && f.figure === figure && Math.abs(f.trueFromSetupStops) < 0.1)
      .flatMap((f) => (f.face.lightStops === null ? [] : [f.face.lightStops]));
    return levels.length === 0 ? null : levels.reduce((sum, v) => sum + v, 0) / levels.length;
  };
  const changes = [...new Set(frames.map((f) => f.figure))].flatMap((figure) => {
    const then = level(before.id, figure);
    const now = level(setupId, figure);
    return then === null || now === null ? [] : [now - then];
  });
  if (changes.length === 0) return null;
  return Math.round((1000 * changes.reduce((sum, v) => sum + v, 0)) / changes.length) / 1000;
}

async function main(): Promise<void> {
  if (!STUDIO_PRESENT)
    throw new Error('the studio renders are not beside the repository (../shared/studio); nothing was made');
  await mkdir(SHOOT, { recursive: true });
  for (const old of await readdir(SHOOT)) if (old.endsWith('.jpg')) await rm(path.join(SHOOT, old));
  const frames: ShootTruth['frames'] = [];
  let bytes = 0;
  for (const planned of planShoot()) {
    const { jpeg, truth } = await renderFrameWithTruth(planned.spec);
    await writeFile(path.join(SHOOT, planned.name), jpeg);
    bytes += jpeg.length;
    frames.push(planned.truth(truth));
  }
  const truth: ShootTruth = ShootTruth.parse({
    schemaVersion: 1,
    about:
      'Made by samples/make from light renders; see samples/README.md. Stops are stops of light; positive is brighter.',
    exposureModel:
      'incident reading at the face: with the metered settings and power, an 18 % surface in the light of the lit half of the face gives sensor exposure 0.18, which the camera writes as sRGB code 118',
    curve: 'hall (samples/make/camera-curves.ts), slope 1.45 at mid-grey',
    setups: SETUPS.map((setup) => ({
      id: setup.id,
      description: setup.description,
      frames: frames.filter((frame) => frame.setup === setup.id).map((frame) => frame.name),
      metered: {
        fNumber: setup.metered.fNumber,
        exposureTimeSeconds: 1 / setup.metered.shutterDenominator,
        iso: setup.metered.iso,
      },
      beginsSetup: setup.beginsSetup,
      levelFromPreviousStops: levelFromPrevious(frames, setup.id),
    })),
    frames,
  });
  await writeFile(path.join(SAMPLES, 'truth.json'), `${JSON.stringify(truth, null, 1)}\n`);
  ShootPlan.parse(PLAN);
  await writeFile(path.join(SAMPLES, 'plan.json'), `${JSON.stringify(PLAN, null, 2)}\n`);
  process.stdout.write(`${frames.length} frames, ${(bytes / 1e6).toFixed(2)} MB in ${SHOOT}\n`);
}

await main();
