import { beforeEach, describe, expect, it, vi } from 'vitest';
import type { ServiceUnderTest } from '../support/service.js';
import { newShoot, put, serviceForTest } from '../support/service.js';
import { until } from '../support/until.js';

/** Pictures that were begun, by the frame they are of, each with its signal; they end when they are told to. */
const drawing = vi.hoisted(() => ({ begun: [] as { end: () => void; gone: AbortSignal | undefined }[] }));
const begin = vi.hoisted(
  () => (gone?: AbortSignal) =>
    new Promise<void>((resolve) => {
      drawing.begun.push({ end: resolve, gone });
    }),
);
vi.mock('../../src/render/before-after.js', () => ({
  beforeAfterJpeg: async (_input: unknown, _longEdgePx: number, { signal }: { signal: AbortSignal }) => {
    await begin(signal);
    return Buffer.from('before and after');
  },
}));
vi.mock('../../src/render/lift-mask.js', async (original) => ({
  ...(await original<object>()),
  maskGround: () => begin(),
  liftMask: () => {
    masks.made += 1;
  },
}));
vi.mock('../../src/render/lift-mask-file.js', async (original) => ({
  ...(await original<object>()),
  encodeLiftMask: () => Promise.resolve(Buffer.from('mask')),
}));
vi.mock('../../src/render/overlay.js', async (original) => ({
  ...(await original<object>()),
  renderOverlay: async () => {
    await begin();
    return Buffer.from('overlay');
  },
}));
/** Every frame wants its face lifted. */
vi.mock('../../src/render/corrected-frames.js', async (original) => {
  const real = await original<typeof import('../../src/render/corrected-frames.js')>();
  const lifts = [{ region: 'face', stops: 1, because: '', limitedBy: null, outline: [] }] as never;
  return {
    ...real,
    correctedFrames: (report: never) => real.correctedFrames(report).map((frame) => ({ ...frame, lifts })),
  };
});
const masks = vi.hoisted(() => ({ made: 0 }));

const endedEarly = (service: ServiceUnderTest): number => service.logged.filter((line) => line.includes('"ended":false')).length; // prettier-ignore

describe.each(['before-after', 'lift-mask?region=face'])('a client of %s that goes away', (which) => {
  let service: ServiceUnderTest;
  let address: string;
  beforeEach(async () => {
    drawing.begun.length = 0;
    masks.made = 0;
    service = await serviceForTest();
    const shoot = await newShoot(service.url);
    await put(shoot, 'P1.jpg', 'one');
    await fetch(`${shoot}/report?wait=20`);
    address = `${shoot}/frames/P1.jpg/${which}`;
  });

  it('while others are drawn for has nothing drawn', async () => {
    const first = [fetch(address), fetch(address)];
    await until(() => drawing.begun.length === 2);
    const leaving = new AbortController();
    const left = fetch(address, { signal: leaving.signal });
    const stayed = fetch(address);
    leaving.abort();
    await expect(left).rejects.toThrow();
    await until(() => endedEarly(service) === 1);
    for (const { end } of drawing.begun) end();
    for (const one of first) expect((await one).status).toBe(200);
    await until(() => drawing.begun.length > 2);
    drawing.begun.at(-1)?.end();
    expect((await stayed).status).toBe(200);
    expect(drawing.begun).toHaveLength(3);
  });

  it('while it is drawn for has it stopped at the next step, and no error is told', async () => {
    const leaving = new AbortController();
    const left = fetch(address, { signal: leaving.signal });
    await until(() => drawing.begun.length === 1);
    leaving.abort();
    await expect(left).rejects.toThrow();
    await until(() => endedEarly(service) === 1);
    const [one] = drawing.begun;
    if (which.startsWith('before')) expect(one?.gone?.aborted).toBe(true);
    one?.end();
    const next = fetch(address);
    await until(() => drawing.begun.length === 2);
    drawing.begun[1]?.end();
    expect((await next).status).toBe(200);
    if (which.startsWith('lift')) expect(masks.made).toBe(1);
    expect(service.logged.filter((line) => line.includes('"level":50'))).toEqual([]);
  });
});

it('overlays are drawn two at a time, however many are asked for, and none for a client that has gone', async () => {
  drawing.begun.length = 0;
  const service = await serviceForTest();
  const shoot = await newShoot(service.url);
  const names = Array.from({ length: 12 }, (_, n) => `P${n}.jpg`);
  for (const name of names) await put(shoot, name, `measure ${name}`);
  await fetch(`${shoot}/report?wait=20`);
  const leaving = new AbortController();
  const overlay = (name: string, signal: AbortSignal | null = null) => fetch(`${shoot}/frames/${name}/overlay`, { signal }); // prettier-ignore
  const stayed = names.slice(0, 8).map((name) => overlay(name));
  await until(() => drawing.begun.length === 2);
  const left = names.slice(8).map((name) => overlay(name, leaving.signal));
  leaving.abort();
  for (const one of left) await expect(one).rejects.toThrow();
  for (let ended = 0; ended < 8; ended += 1) {
    await until(() => drawing.begun.length > ended);
    expect(drawing.begun.length - ended).toBeLessThanOrEqual(2);
    drawing.begun[ended]?.end();
  }
  for (const one of stayed) expect(await (await one).text()).toBe('overlay');
  expect(drawing.begun).toHaveLength(8);
});
