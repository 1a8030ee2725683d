/**
 * Makes samples/shoot, samples/truth.json and samples/plan.json. Run: npx tsx samples/make/make-shoot.ts
 * Needs the studio renders; the committed files need nothing.
 */
import { mkdir, readdir, rm, writeFile } from 'node:fs/promises';
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import { format } from 'prettier';
import { ShootPlan, type ShootPlanInput } from '../../src/contracts/plan.js';
import { renderShoot } from './render-shoot.js';
import { FRAMES, HALL, SETUPS } from './scenario.js';
import { STUDIO_PRESENT } from './studio.js';

const SAMPLES = fileURLToPath(new URL('../', import.meta.url));
const SHOOT = path.join(SAMPLES, 'shoot');

const range = (first: number, last: number) => ({
  first: `MKR_${String(first).padStart(4, '0')}.jpg`,
  last: `MKR_${String(last).padStart(4, '0')}.jpg`,
});

/** The near light as it was rendered: 1.1 m from the face, 0.55 m above it, 0.9 m square. */
const NEAR_LIGHT = {
  lightDistanceMetres: 0.95,
  lightRaisedMetres: 0.55,
  lightWidthMetres: 0.9,
  lightHeightMetres: 0.9,
} as const;

const PLAN: ShootPlanInput = {
  schemaVersion: 1,
  light: 'flash',
  toleranceStops: 1 / 3,
  toneResponse: 'auto',
  notes:
    "Village hall makers' portrait day, one camera, one soft light metered at the face for f/8 at 1/125 s and ISO 100.",
  setups: [
    { name: 'front', frames: range(1, 12), reading: { fNumber: 8, iso: 100 } },
    { name: 'front, opened up', frames: range(13, 15), reading: { fNumber: 5.6, iso: 100 } },
    { name: 'side', frames: range(16, 36), reading: { fNumber: 5.6, iso: 100 } },
    { name: 'far side', frames: range(37, 44), reading: { fNumber: 5.6, iso: 100 } },
    {
      name: 'near',
      frames: range(45, 48),
      reading: { fNumber: 8, iso: 100 },
      light: NEAR_LIGHT,
    },
  ],
};

const jsonText = (value: unknown) => format(JSON.stringify(value), { parser: 'json', printWidth: 120 });

async function main(): Promise<void> {
  if (!STUDIO_PRESENT)
    throw new Error('the studio renders are not beside the repository (../shared/studio); nothing was made');
  await mkdir(SHOOT, { recursive: true });
  for (const old of await readdir(SHOOT)) if (old.endsWith('.jpg')) await rm(path.join(SHOOT, old));
  const { frames, truth } = await renderShoot({
    about:
      'Made by samples/make from light renders; see samples/README.md. Stops are stops of light; positive is brighter.',
    setups: SETUPS,
    frames: FRAMES,
    namePrefix: 'MKR_',
    curve: 'hall',
    hall: HALL,
    flashCode: 9,
  });
  let bytes = 0;
  for (const { name, jpeg } of frames) {
    await writeFile(path.join(SHOOT, name), jpeg);
    bytes += jpeg.length;
  }
  await writeFile(path.join(SAMPLES, 'truth.json'), await jsonText(truth));
  ShootPlan.parse(PLAN);
  await writeFile(path.join(SAMPLES, 'plan.json'), await jsonText(PLAN));
  process.stdout.write(`${frames.length} frames, ${(bytes / 1e6).toFixed(2)} MB in ${SHOOT}\n`);
}

await main();
