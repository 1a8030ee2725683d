import { existsSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import sharp from 'sharp';
import { plainFrame, renderFrame } from '../../samples/make/virtual-camera.js';
import type { CameraCurveName } from '../../samples/make/camera-curves.js';
import { MeasuringOptions } from '../../src/contracts/options.js';
import { measureFrame } from '../../worker/measure-frame.js';
import { bigFrame, groupFrame, SMOOTH } from '../bench/big-frame.js';
import { studioNames } from '../support/studio.js';

/**
 * What a change of the measuring code moves. Before the change: `npx tsx tests/accuracy/movement.ts keep FILE`; after it:
 * `... against FILE`, which says the largest difference of each number of the measurement and what else changed.
 *
 * Frames: the sample shoot, every render of the studio through four cameras at two exposures (112), photographs, and large
 * frames of one person and of seven, whose cells are blocks of pixels. What lies in ../shared is left out where that is absent.
 */
const CURVES: readonly CameraCurveName[] = ['soft-shoulder', 'plain-power', 'middle-toe', 'hard-crushed'];
const EXPOSURES_STOPS = [0, -1.5];
const LARGE_PX = [1500, 2600, 4000];

type Frames = AsyncGenerator<{ name: string; bytes: Buffer }>;
/** Every number, word and null of a measurement by its path and frame. */
type Kept = Record<string, Record<string, unknown>>;

async function* frames(): Frames {
  const root = fileURLToPath(new URL('../../', import.meta.url));
  const folder = (path: string) => (existsSync(join(root, path)) ? readdirSync(join(root, path)).sort() : []);
  for (const name of folder('samples/shoot')) yield { name, bytes: readFileSync(join(root, 'samples/shoot', name)) };
  for (const widthPx of LARGE_PX)
    yield { name: `large ${widthPx}`, bytes: await bigFrame({ ...SMOOTH, widthPx, heightPx: 1.5 * widthPx }) };
  const { group } = await groupFrame(7);
  yield { name: 'seven', bytes: group };
  yield { name: 'seven on their side', bytes: await sharp(group).withMetadata({ orientation: 6 }).jpeg().toBuffer() };
  for (const kind of ['half', 'heads', 'back', 'other'])
    for (const name of folder(`../shared/photos/${kind}`))
      yield { name, bytes: readFileSync(join(root, '../shared/photos', kind, name)) };
  if (folder('../shared/studio').length === 0) return;
  for (const name of studioNames())
    for (const curve of CURVES)
      for (const powerStops of EXPOSURES_STOPS) {
        const plain = plainFrame(name);
        const light = { ...plain.light, powerStops, ambientStops: -20 };
        const jpeg = await renderFrame({ ...plain, curve, light, seed: `${name} ${curve}` });
        yield { name: `${name} ${curve} ${powerStops}`, bytes: jpeg };
      }
}

/** Leaves of a value by path; places in lists of one kind of thing stay apart. */
function leaves(value: unknown, path: string, out: Record<string, unknown>): void {
  if (typeof value === 'object' && value !== null)
    for (const [key, inner] of Object.entries(value)) leaves(inner, path === '' ? key : `${path}.${key}`, out);
  else out[path] = value;
}

async function measured(): Promise<Kept> {
  const options = MeasuringOptions.parse({});
  const kept: Kept = {};
  for await (const { name, bytes } of frames()) {
    const { measurement, products } = await measureFrame(bytes, options);
    const { timing, measuringVersion, ...rest } = measurement;
    const regions = await sharp(products.regionsPng).raw().toBuffer();
    const preview = await sharp(products.previewJpeg).raw().toBuffer();
    const shares = Array.from({ length: 16 }, (_, code) => regions.filter((c) => c === code).length / regions.length);
    kept[name] = { preview: preview.reduce((sum, code) => sum + code, 0) / preview.length };
    // By place: of two people alike, a rounding may make the other one the larger.
    const people = [...rest.people].sort((a, b) => a.box.x - b.box.x);
    leaves({ ...rest, people, regionShares: shares }, '', kept[name]);
    if (timing.measureMs === undefined || measuringVersion === '') throw new Error(`${name} was not measured`);
  }
  return kept;
}

const [what, file] = process.argv.slice(2);
if ((what !== 'keep' && what !== 'against') || file === undefined)
  throw new Error('expected keep FILE or against FILE');
const now = await measured();
if (what === 'keep') writeFileSync(file, JSON.stringify(now));
else compare(JSON.parse(readFileSync(file, 'utf8')) as Kept, now);

function compare(before: Kept, after: Kept): void {
  const largest = new Map<string, { by: number; frame: string }>();
  const others: string[] = [];
  for (const [frame, was] of Object.entries(before)) {
    const is = after[frame] ?? {};
    for (const path of new Set([...Object.keys(was), ...Object.keys(is)])) {
      const [a, b] = [was[path], is[path]];
      if (a === b) continue;
      // Outlines may have another number of corners; all else is told.
      const field = path.replace(/\.\d+/g, '[]');
      if (typeof a === 'number' && typeof b === 'number') {
        const by = Math.abs(a - b);
        if (by > (largest.get(field)?.by ?? 0)) largest.set(field, { by, frame });
      } else others.push(`${frame}: ${path} was ${String(a)}, is ${String(b)}`);
    }
  }
  console.log(`${Object.keys(before).length} frames, ${Object.keys(after).length} now; largest difference of each number that moved:`); // prettier-ignore
  for (const [field, { by, frame }] of [...largest].sort(([a], [b]) => a.localeCompare(b)))
    console.log(`  ${field.padEnd(60)} ${by.toPrecision(3).padStart(10)}   ${frame}`);
  console.log(`${others.length} other differences (outlines with another number of corners among them)`);
  for (const line of others.slice(0, 40)) console.log(`  ${line}`);
}
