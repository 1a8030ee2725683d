import { createHash, randomBytes } from 'node:crypto';
import { mkdtemp, open, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { ServiceClient } from '../../src/commands/service-client.js';
import { medianOf } from '../accuracy/row.js';
import { createShoot, putBytes, startBlankService, startTaker } from './bench-service.js';
import { cpuMs, row } from './cpu.js';

const FRAME_BYTES = 25_000_000;
const FRAMES_A_ROUND = 16;
const AT_ONCE = 4;
/** What one read of a connection gives in Node. */
const CHUNK_BYTES = 65_536;

interface Timed {
  clockMs: number;
  /** Of this process and of the one at the other end. */
  cpuMs: number;
}

/**
 * Uploading by PUT against writing and syncing the same bytes in the same folder, one frame after another and four at a
 * time; and what no upload can do without: the bytes hashed, and carried over loopback to a server that drops them.
 */
export async function uploadBench(rounds: number): Promise<void> {
  const folder = await mkdtemp(join(tmpdir(), 'stopledger-bench-'));
  const [service, taker] = [await startBlankService(folder), await startTaker()];
  const frames = Array.from({ length: AT_ONCE }, () => randomBytes(FRAME_BYTES));
  let made = 0;
  /** Bytes that no other frame has. */
  const frame = (which = 0): Buffer => {
    const bytes = frames[which]!;
    bytes.writeUInt32BE((made += 1), 16);
    return bytes;
  };
  const taken: Record<string, Timed[]> = {};
  const timed = async (name: string, work: () => Promise<unknown>, farEnd?: { cpuMs(): number }): Promise<void> => {
    const [start, farBefore] = [performance.now(), farEnd?.cpuMs() ?? 0];
    const near = await cpuMs(work);
    (taken[name] ??= []).push({ clockMs: performance.now() - start, cpuMs: near + (farEnd?.cpuMs() ?? 0) - farBefore });
  };
  const upload = async (shoot: string, bytes: Buffer): Promise<void> => {
    const status = await putBytes(`${shoot}/frames/f${bytes.readUInt32BE(16)}.jpg`, bytes);
    if (status !== 201) throw new Error(`upload answered ${status}`);
  };
  const allAtOnce = (one: (bytes: Buffer, which: number) => Promise<void>): Promise<unknown> =>
    Promise.all(frames.map((_, which) => one(frame(which), which)));
  const resident: number[] = [];
  const client = new ServiceClient({ to: taker.url });
  const photo = join(folder, 'photo.jpg');
  await writeFile(photo, frame());
  const sendByFetch = async (): Promise<void> => {
    const body = await readFile(photo);
    await (await fetch(taker.url, { method: 'PUT', body, headers: { 'content-digest': hash(body) } })).text();
  };
  try {
    for (let round = 0; round < rounds; round++) {
      const shoot = await createShoot(service.url);
      // Turn about, so that a busy disk or machine is busy for all.
      for (let n = 0; n < FRAMES_A_ROUND; n++) {
        await timed('written', () => writeAndSync(join(folder, 'plain'), frame()));
        await timed('hashed', () => Promise.resolve(hash(frame())));
        await timed('carried', () => putBytes(taker.url, frame()), taker);
        await timed('uploaded', () => upload(shoot, frame()), service);
        if (n % AT_ONCE > 0) continue;
        await timed('sent', () => client.putFrame('s', 'f', photo));
        await timed('fetched', sendByFetch);
        await timed('written 4', () => allAtOnce((bytes, which) => writeAndSync(join(folder, `plain${which}`), bytes)));
        await timed('uploaded 4', () => allAtOnce((bytes) => upload(shoot, bytes)), service);
      }
      resident.push(service.memoryMiB());
      await fetch(shoot, { method: 'DELETE' });
    }
  } finally {
    client.close();
    await service.end();
    await taker.end();
    await rm(folder, { recursive: true, force: true, maxRetries: 3 });
  }
  print(taken, resident);
}

function print(taken: Record<string, Timed[]>, resident: readonly number[]): void {
  const clock = (name: string): number => medianOf((taken[name] ?? []).map(({ clockMs }) => clockMs));
  const cpu = (name: string): number => {
    const all = taken[name] ?? [];
    return all.reduce((sum, one) => sum + one.cpuMs, 0) / all.length;
  };
  const ratio = (name: string, words: string, plain: string, count: number): void => {
    const rate = (count * FRAME_BYTES) / 1e3 / clock(name);
    row(words, clock(plain) / clock(name), `(${rate.toFixed(0)} MB/s, ${(cpu(name) / count).toFixed(0)} ms of CPU a frame)`); // prettier-ignore
  };
  console.log(`\nUploads by PUT in frames of ${FRAME_BYTES / 1e6} MB, medians of ${taken.uploaded?.length ?? 0}, by the clock; goal 0.80`); // prettier-ignore
  ratio('written', 'writing and syncing the same bytes', 'written', 1);
  ratio('hashed', 'hashing them (SHA-256), nothing else', 'written', 1);
  ratio('carried', 'loopback to a server that drops them', 'written', 1);
  row('both, one after the other in one thread', clock('written') / (clock('hashed') + clock('carried')));
  const parts = cpu('written') + cpu('hashed') + cpu('carried');
  row('all three, were two cores never idle', clock('written') / (parts / 2), `(${parts.toFixed(0)} ms of CPU a frame)`); // prettier-ignore
  ratio('uploaded', 'uploaded, synced and acknowledged', 'written', 1);
  ratio('written 4', 'four at a time: writing and syncing', 'written 4', AT_ONCE);
  ratio('uploaded 4', 'four at a time: uploaded', 'written 4', AT_ONCE);
  ratio('sent', 'a file hashed and sent by `stopledger send`', 'written', 1);
  ratio('fetched', 'read whole, hashed and sent by `fetch`', 'written', 1);
  console.log(`  service's memory after each round: ${resident.map((mib) => mib.toFixed(0)).join(', ')} MiB`);
}

function hash(bytes: Buffer): string {
  const sha256 = createHash('sha256');
  for (let from = 0; from < bytes.byteLength; from += CHUNK_BYTES)
    sha256.update(bytes.subarray(from, from + CHUNK_BYTES));
  return sha256.digest('hex');
}

async function writeAndSync(path: string, bytes: Buffer): Promise<void> {
  const file = await open(path, 'w');
  await file.write(bytes);
  await file.sync();
  await file.close();
  await rm(path);
}
