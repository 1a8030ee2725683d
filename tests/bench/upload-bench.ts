import { randomBytes } from 'node:crypto';
import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { mkdtemp, open, readFile, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import { SERVICE_ENTRY } from '../support/processes.js';
import { medianOf } from '../accuracy/row.js';
import { row } from './cpu.js';

const FRAME_BYTES = 25_000_000;
const FRAMES_A_ROUND = 16;
const MIB = 1024 ** 2;

/** Uploading by PUT against writing and syncing the same bytes in the same folder; memory of the service meanwhile. */
export async function uploadBench(rounds: number): Promise<void> {
  const folder = await mkdtemp(join(tmpdir(), 'stopledger-bench-'));
  const child = spawn(process.execPath, ['--import', 'tsx', SERVICE_ENTRY], {
    env: { PATH: process.env.PATH, PORT: '0', DATA_DIR: folder, WORKERS: '1', LOG_LEVEL: 'info', CALIBRATIONS: join(folder, 'none'), MAX_REQUESTS_PER_MINUTE: '0' }, // prettier-ignore
    stdio: ['ignore', 'pipe', 'inherit'],
  });
  try {
    const url = await urlOf(child.stdout);
    const bytes = randomBytes(FRAME_BYTES);
    // Words that the process in place of the measuring one reads as: answer, without measuring.
    bytes.write('measure \n');
    const residentMiB = async () => Number((await readFile(`/proc/${child.pid}/statm`, 'utf8')).split(' ')[1]) * 4096 / MIB; // prettier-ignore
    const ratios: number[] = [];
    const resident: number[] = [];
    let [plainRate, uploadRate] = [0, 0];
    for (let round = 0; round < rounds; round++) {
      const shoot = await createShoot(url);
      let [plainMs, uploadMs] = [0, 0];
      // Turn about, so that a busy disk is busy for both.
      for (let n = 0; n < FRAMES_A_ROUND; n++) {
        bytes.writeUInt32BE(round * FRAMES_A_ROUND + n, 16);
        let start = performance.now();
        await writeAndSync(join(folder, 'plain'), bytes);
        plainMs += performance.now() - start;
        start = performance.now();
        const { status } = await fetch(`${shoot}/frames/f${n}.jpg`, { method: 'PUT', body: bytes });
        uploadMs += performance.now() - start;
        if (status !== 201) throw new Error(`upload answered ${status}`);
      }
      const megabytes = (FRAMES_A_ROUND * FRAME_BYTES) / 1e6;
      [plainRate, uploadRate] = [megabytes / (plainMs / 1000), megabytes / (uploadMs / 1000)];
      ratios.push(plainMs / uploadMs);
      resident.push(await residentMiB());
      await fetch(shoot, { method: 'DELETE' });
    }
    const gigabytes = (rounds * FRAMES_A_ROUND * FRAME_BYTES) / 1e9;
    console.log(
      `\nUploads by PUT, one after another (${gigabytes.toFixed(1)} GB in frames of ${FRAME_BYTES / 1e6} MB), by the clock`,
    );
    row('writing and syncing the same bytes', 1, `(${plainRate.toFixed(0)} MB/s in the last round)`);
    row(
      'uploaded, synced and acknowledged',
      medianOf(ratios),
      `(${uploadRate.toFixed(0)} MB/s in the last round); goal 0.80`,
    );
    console.log(`  service's memory after each round: ${resident.map((mib) => mib.toFixed(0)).join(', ')} MiB`);
  } finally {
    child.kill('SIGTERM');
    if (child.exitCode === null) await once(child, 'exit');
    await rm(folder, { recursive: true, force: true, maxRetries: 3 });
  }
}

async function urlOf(lines: NodeJS.ReadableStream): Promise<string> {
  for await (const line of createInterface({ input: lines })) {
    const { url } = JSON.parse(line) as { url?: string };
    if (url === undefined) continue;
    lines.resume();
    return url;
  }
  throw new Error('the service ended before it said its address');
}

async function createShoot(url: string): Promise<string> {
  const answer = await fetch(`${url}/v1/shoots`, {
    method: 'POST',
    headers: { 'content-type': 'application/json' },
    body: JSON.stringify({ name: 'bench' }),
  });
  if (answer.status !== 201) throw new Error(`shoot not created: ${answer.status}`);
  return `${url}${answer.headers.get('location') ?? ''}`;
}

async function writeAndSync(path: string, bytes: Buffer): Promise<void> {
  const file = await open(path, 'w');
  await file.write(bytes);
  await file.sync();
  await file.close();
  await rm(path);
}
