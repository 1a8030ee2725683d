import { connect } from 'node:net';
import { eventsOf } from '../support/server-sent-events.js';
import { mutate } from '../support/mutate.js';
import type { Random } from '../../samples/make/random.js';
import type { SimulatedFrame } from '../cluster/simulated-frames.js';

export interface Tally {
  shoots: number;
  frames: number;
  damaged: number;
  brokenOff: number;
  refused: number;
  bytes: number;
  /** Answers that no client should ever get. */
  wrong: string[];
}

export const newTally = (): Tally => ({
  shoots: 0,
  frames: 0,
  damaged: 0,
  brokenOff: 0,
  refused: 0,
  bytes: 0,
  wrong: [],
});

export interface VisitorParts {
  url: string;
  random: Random;
  good: readonly SimulatedFrame[];
  tally: Tally;
}

const MOST_FRAMES = 8;

/** Sends the beginning of a frame and goes away. */
function breakOff(url: string, path: string, bytes: Buffer): Promise<void> {
  const { hostname, port } = new URL(url);
  return new Promise((resolve) => {
    const socket = connect(Number(port), hostname);
    socket.on('error', () => undefined);
    socket.on('close', () => {
      resolve();
    });
    socket.write(`PUT ${path} HTTP/1.1\r\nHost: x\r\nContent-Length: ${bytes.length}\r\n\r\n`);
    socket.write(bytes.subarray(0, bytes.length >> 1), () => socket.resetAndDestroy());
  });
}

/** One client's whole visit: a shoot of good and damaged frames, everything that there is to see of it, and its end. */
export async function visit({ url, random, good, tally }: VisitorParts): Promise<void> {
  const below = (limit: number): number => Math.floor(random.uniform() * limit);
  const expect = (what: string, response: Response, statuses: readonly number[]): void => {
    tally.refused += response.status >= 400 ? 1 : 0;
    if (!statuses.includes(response.status)) tally.wrong.push(`${what}: ${response.status}`);
  };
  const drained = async (what: string, response: Response, statuses: readonly number[]): Promise<void> => {
    expect(what, response, statuses);
    tally.bytes += (await response.arrayBuffer()).byteLength;
  };

  const made = await fetch(`${url}/v1/shoots`, { method: 'POST', headers: { 'content-type': 'application/json' }, body: '{"name":"Makers’ day"}' }); // prettier-ignore
  expect('create', made, [201]);
  const path = made.headers.get('location') ?? '';
  await made.arrayBuffer();
  const shoot = url + path;
  tally.shoots += 1;

  const watching = (async () => {
    const events = await fetch(`${shoot}/events`);
    if (random.uniform() < 0.3) await events.body?.cancel();
    else for await (const { event } of eventsOf(events)) if (event === 'gone') return;
  })().catch(() => undefined);

  const names: string[] = [];
  for (let n = 1 + below(MOST_FRAMES); n > 0; n -= 1) {
    const frame = good[below(good.length)] as SimulatedFrame;
    const name = `${n}-${frame.name}`;
    if (random.uniform() < 0.15) {
      await breakOff(url, `${path}/frames/cut-${name}`, frame.bytes);
      tally.brokenOff += 1;
      continue;
    }
    const isDamaged = random.uniform() < 0.3;
    const body = new Uint8Array(isDamaged ? mutate(frame.bytes, below(2 ** 31)).bytes : frame.bytes);
    tally[isDamaged ? 'damaged' : 'frames'] += 1;
    await drained(`put ${name}`, await fetch(`${shoot}/frames/${name}`, { method: 'PUT', body }), [201, 422]);
    names.push(name);
  }
  if (random.uniform() < 0.2) {
    // Deleted with frames on their way.
    await drained('delete early', await fetch(shoot, { method: 'DELETE' }), [204]);
    await watching;
    return;
  }
  await drained('complete', await fetch(`${shoot}/complete`, { method: 'POST' }), [200]);
  for (const type of ['application/json', 'text/csv', 'text/html']) {
    await drained(`report ${type}`, await fetch(`${shoot}/report?wait=120`, { headers: { accept: type } }), [200]);
  }
  for (const name of names) {
    for (const what of ['', '/preview', '/overlay', '/sidecar', '/before-after', '/lift-mask?region=lower-body']) {
      await drained(`${what || 'measurement'}`, await fetch(`${shoot}/frames/${name}${what}`), [200, 404, 422]);
    }
  }
  await drained('nonsense', await fetch(`${shoot}/frames/..%2f`), [400, 404]);
  await watching;
  await drained('delete', await fetch(shoot, { method: 'DELETE' }), [204]);
}
