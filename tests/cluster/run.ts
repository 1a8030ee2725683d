import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { parseArgs } from 'node:util';
import { FrameEvent, ShootStatus } from '../../src/contracts/api.js';
import { ShootReport } from '../../src/contracts/report.js';
import { eventsOf } from '../support/server-sent-events.js';
import { type Cluster, startCluster, stopClustersOnSignal, whatIsMissing } from './cluster.js';
import { type Answer, VARIANTS, type Variant, answerOf, differences, embeddedAnswer, startVariant } from './same-answer.js'; // prettier-ignore
import { ShootClient, inParallel } from './shoot-client.js';
import { SAMPLES, type SimulatedFrame, sampleFrames, simulatedFrames } from './simulated-frames.js';

const SIMULATED_FRAMES = 500;
const UPLOADS_AT_ONCE = 4;
const LIMIT_MS = 10 * 60_000;

const readPlan = async (): Promise<unknown> =>
  JSON.parse(await readFile(join(SAMPLES, 'plan.json'), 'utf8')) as unknown;

/** Listens at one service until the shoot is ready; says how many changes of frames were told. */
async function listen(address: string, headers: Record<string, string>): Promise<Map<string, number>> {
  const told = new Map<string, number>();
  for await (const { event, data } of eventsOf(await fetch(`${address}/events`, { headers }))) {
    const what = event === 'frame' ? FrameEvent.parse(data).state : `${event}: ${ShootStatus.parse(data).state}`;
    told.set(what, (told.get(what) ?? 0) + 1);
  }
  return told;
}

/** Uploads to the first service; progress, events and report from the second. */
async function throughCluster(cluster: Cluster, frames: readonly SimulatedFrame[], plan: unknown): Promise<Answer> {
  const [one, other] = cluster.apis;
  if (one === undefined || other === undefined) throw new Error('two services expected');
  const sender = new ShootClient({ urls: [one.url], headers: cluster.headers, limitMs: LIMIT_MS });
  const startedAt = performance.now();
  await sender.create(plan);
  const listening = listen(sender.addressAt(other.url), cluster.headers);
  await inParallel(frames, UPLOADS_AT_ONCE, async (frame) => {
    await sender.put(frame);
  });
  console.log(`${frames.length} frames sent to ${one.url} in ${((performance.now() - startedAt) / 1000).toFixed(1)} s`);
  await sender.complete();
  const told = await listening;
  console.log(`events from ${other.url}: ${[...told].map(([what, times]) => `${what} ×${times}`).join(', ')}`);
  const report = await fetch(`${sender.addressAt(other.url)}/report`, { headers: cluster.headers });
  const text = await report.text();
  const { summary } = ShootReport.parse(JSON.parse(text));
  const seconds = (performance.now() - startedAt) / 1000;
  console.log(`report from ${other.url} after ${seconds.toFixed(1)} s: ${summary.frames} frames, ${summary.consistent} consistent`); // prettier-ignore
  return { report: text.replaceAll(sender.id, 'SHOOT'), parts: new Map(), frames: summary.frames, seconds };
}

/** The sample shoot through two services and three workers, held against the service alone. */
async function showCluster(): Promise<boolean> {
  const [frames, plan] = [await sampleFrames(), await readPlan()];
  const cluster = await startCluster({ apis: 2, workers: 3, from: 'dist' });
  try {
    console.log(`Running, as docker-compose.yml has it, frames in ${cluster.dataDir}:`);
    for (const line of cluster.shown) console.log(`  ${line}`);
    const spread = await throughCluster(cluster, frames, plan);
    await cluster.stop();
    const alone = await embeddedAnswer(frames, plan);
    const same = alone.report === spread.report;
    console.log(`report.json, ${Buffer.byteLength(spread.report)} bytes: ${same ? 'the very bytes of' : 'NOT those of'} the service alone (the shoot’s id aside)`); // prettier-ignore
    return same;
  } finally {
    await cluster.stop();
  }
}

/** The same frames through the service alone and every way past one machine. */
async function sameAnswer(): Promise<boolean> {
  const plan = await readPlan();
  const simulated = await simulatedFrames({ frames: SIMULATED_FRAMES, seed: 'same', widthPx: 320, wholeEvery: 1 });
  const shoots = { 'sample shoot': await sampleFrames(), 'simulated shoot': simulated };
  let allSame = true;
  for (const [name, frames] of Object.entries(shoots)) {
    const alone = await embeddedAnswer(frames, plan);
    console.log(`${name}, ${alone.frames} frames, the service alone: ${alone.seconds.toFixed(0)} s`);
    for (const variant of Object.keys(VARIANTS) as Variant[]) {
      const cluster = await startVariant(variant, 'dist');
      try {
        const services = { urls: cluster.apis.map(({ url }) => url), headers: cluster.headers };
        const spread = await answerOf(services, frames, plan);
        const found = differences(alone, spread);
        const compared = 1 + alone.parts.size;
        console.log(`${name}, ${spread.frames} frames, ${variant}, 3 workers: ${spread.seconds.toFixed(0)} s; ${compared - found.length} of ${compared} answers equal to the byte${found.length === 0 ? '' : `; other: ${found.slice(0, 5).join(', ')}`}`); // prettier-ignore
        allSame &&= found.length === 0;
      } finally {
        await cluster.stop();
      }
    }
  }
  return allSame;
}

const { values } = parseArgs({ options: { same: { type: 'boolean', default: false } } });
stopClustersOnSignal();
const missing = whatIsMissing();
if (missing.length > 0) {
  console.error(`The cluster cannot be started here:\n${missing.join('\n')}`);
  process.exitCode = 1;
} else if (!(await (values.same ? sameAnswer() : showCluster()))) {
  console.error('The answers differ.');
  process.exitCode = 1;
}
