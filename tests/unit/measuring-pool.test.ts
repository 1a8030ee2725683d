import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { MeasuringOptions } from '../../src/contracts/options.js';
import { createMeasuringPool, type MeasuringPool, type MeasuringPoolOptions } from '../../src/queue/measuring-pool.js';
import { temporaryFolder } from '../support/temporary-folder.js';

const ENTRY = new URL('../fixtures/pool/fixture-process.ts', import.meta.url);
const OPTIONS = MeasuringOptions.parse({});

let pools: MeasuringPool[] = [];
let folder = '';
let files = 0;

function pool(options: Partial<MeasuringPoolOptions> = {}): MeasuringPool {
  const made = createMeasuringPool({ workers: 1, timeLimitSeconds: 60, maxAttempts: 2, entry: ENTRY, ...options });
  pools.push(made);
  return made;
}

/** A file whose text tells the fixture process what to do. */
function frame(text: string): { path: string; options: MeasuringOptions } {
  const path = join(folder, `frame-${(files += 1)}`);
  writeFileSync(path, text);
  return { path, options: OPTIONS };
}

const alive = (pid: number): boolean => {
  try {
    process.kill(pid, 0);
    return true;
  } catch {
    return false;
  }
};

beforeEach(() => {
  folder = temporaryFolder();
});
afterEach(async () => {
  await Promise.all(pools.map((one) => one.close()));
  pools = [];
});

describe('measuring pool', () => {
  it('measures in another process and carries binary pictures back', async () => {
    const marker = join(folder, 'env');
    const { measurement, products } = await pool().measure(frame(`tell-env ${marker}`));
    const told = JSON.parse(readFileSync(marker, 'utf8')) as { pid: number };
    expect(told.pid).not.toBe(process.pid);
    expect(measurement.measuringVersion).toBe('blank');
    expect(Buffer.from(products.previewJpeg).subarray(0, 2).toString('hex')).toBe('ffd8');
  });

  it('gives its processes the allocator setting and no secret', async () => {
    process.env.API_TOKENS = 'a-secret-that-must-not-travel';
    const marker = join(folder, 'env');
    try {
      await pool().measure(frame(`tell-env ${marker}`));
    } finally {
      delete process.env.API_TOKENS;
    }
    const text = readFileSync(marker, 'utf8');
    const { env } = JSON.parse(text) as { env: Record<string, string> };
    expect(env.GLIBC_TUNABLES).toBe('glibc.malloc.hugetlb=1:glibc.malloc.arena_max=1');
    expect(text).not.toContain('a-secret-that-must-not-travel');
    expect(Object.keys(env)).not.toContain('NODE_OPTIONS');
  });

  it('ends a hung process at the time limit and measures the next frame in a new one', async () => {
    const one = pool({ timeLimitSeconds: 0.5, maxAttempts: 1 });
    await expect(one.measure(frame('hang'))).rejects.toMatchObject({
      code: 'frame-timed-out',
      message: expect.stringContaining('0.5 s') as string,
    });
    const marker = join(folder, 'env');
    const patient = pool({ maxAttempts: 1 });
    const stop = new AbortController();
    const hung = patient.measure({ ...frame('hang'), signal: stop.signal }).catch((error: unknown) => error);
    stop.abort(new Error('as the time limit does'));
    await hung;
    await expect(patient.measure(frame(`tell-env ${marker}`))).resolves.toHaveProperty('measurement');
  });

  it('ends only the hung process', async () => {
    const two = pool({ workers: 2, maxAttempts: 1 });
    const gate = join(folder, 'gate');
    const stop = new AbortController();
    const sibling = two.measure(frame(`wait-for ${gate}`));
    const hung = two.measure({ ...frame('hang'), signal: stop.signal });
    stop.abort(new Error('hung'));
    await expect(hung).rejects.toThrow('hung');
    writeFileSync(gate, '');
    await expect(sibling).resolves.toHaveProperty('measurement');
  });

  it('does not lose the frame that is measured beside one whose process dies', async () => {
    const two = pool({ workers: 2, maxAttempts: 1 });
    const gate = join(folder, 'gate');
    const sibling = two.measure(frame(`wait-for ${gate}`));
    await expect(two.measure(frame('die'))).rejects.toMatchObject({ code: 'frame-process-died' });
    await expect(two.measure(frame('die'))).rejects.toMatchObject({ code: 'frame-process-died' });
    writeFileSync(gate, '');
    await expect(sibling).resolves.toHaveProperty('measurement');
  });

  it('measures on with every process after many deaths', async () => {
    const two = pool({ workers: 2, maxAttempts: 1 });
    const deaths = await Promise.allSettled(Array.from({ length: 6 }, () => two.measure(frame('die'))));
    expect(deaths.map(({ status }) => status)).toEqual(new Array(6).fill('rejected'));
    // Each waits for the other's file: both processes must be there at once.
    const [a, b] = [join(folder, 'a'), join(folder, 'b')];
    const first = two.measure(frame(`wait-for ${a}`));
    const second = two.measure({ ...frame(`wait-for ${b}`), onAttempt: () => { writeFileSync(a, ''); } }); // prettier-ignore
    await first;
    writeFileSync(b, '');
    await second;
  });

  it('tries a frame again when its process died, and says after how many attempts it gave up', async () => {
    const marker = join(folder, 'die-once');
    writeFileSync(marker, '');
    const attempts: number[] = [];
    await pool().measure({ ...frame(`die-until ${marker}`), onAttempt: (attempt) => attempts.push(attempt) });
    expect(attempts).toEqual([1, 2]);
    await expect(pool({ maxAttempts: 3 }).measure(frame('die'))).rejects.toMatchObject({
      code: 'frame-process-died',
      message: expect.stringContaining('tried 3 times') as string,
    });
  });

  it('goes on in a new process after an error that the process does not know, and in the same after a frame’s own fault', async () => {
    const one = pool({ maxAttempts: 1 });
    const pidNow = async (): Promise<number> => {
      const marker = join(folder, `pid-${(files += 1)}`);
      await one.measure(frame(`tell-env ${marker}`));
      return (JSON.parse(readFileSync(marker, 'utf8')) as { pid: number }).pid;
    };
    const first = await pidNow();
    await expect(one.measure(frame('refuse frame-corrupt'))).rejects.toMatchObject({ code: 'frame-corrupt' });
    expect(await pidNow()).toBe(first);
    await expect(one.measure(frame('refuse internal'))).rejects.toMatchObject({ code: 'internal' });
    expect(await pidNow()).not.toBe(first);
  });

  it('takes a frame’s own fault as final', async () => {
    const attempts: number[] = [];
    const request = { ...frame('refuse frame-corrupt'), onAttempt: (attempt: number) => attempts.push(attempt) };
    await expect(pool().measure(request)).rejects.toMatchObject({
      name: 'StopledgerError',
      code: 'frame-corrupt',
      message: 'refused as frame-corrupt',
    });
    expect(attempts).toEqual([1]);
  });

  it('finds a stored file that is not what was received', async () => {
    const request = { ...frame('measure'), sha256: '0'.repeat(64) };
    await expect(pool({ maxAttempts: 1 }).measure(request)).rejects.toMatchObject({ code: 'digest-mismatch' });
  });

  it('serves in order of asking', async () => {
    const one = pool();
    const ended: number[] = [];
    await Promise.all([1, 2, 3, 4].map((number) => one.measure(frame('measure')).then(() => ended.push(number))));
    expect(ended).toEqual([1, 2, 3, 4]);
  });

  it('stops for a signal, waiting or running, and goes on for others', async () => {
    const one = pool();
    const running = new AbortController();
    const waiting = new AbortController();
    const hung = one.measure({
      ...frame('hang'),
      signal: running.signal,
      onAttempt: () => {
        waiting.abort(new Error('not wanted'));
      },
    });
    const queued = one.measure({ ...frame('measure'), signal: waiting.signal });
    await expect(queued).rejects.toThrow('not wanted');
    running.abort(new Error('enough'));
    await expect(hung).rejects.toThrow('enough');
    await expect(one.measure(frame('measure'))).resolves.toHaveProperty('measurement');
  });

  it('leaves no process behind', async () => {
    const marker = join(folder, 'env');
    const one = pool();
    await one.measure(frame(`tell-env ${marker}`));
    const { pid } = JSON.parse(readFileSync(marker, 'utf8')) as { pid: number };
    expect(alive(pid)).toBe(true);
    const hung = one.measure(frame('hang')).catch((error: unknown) => error);
    await one.close();
    expect(alive(pid)).toBe(false);
    expect(await hung).toMatchObject({ code: 'shutting-down' });
    expect(existsSync(marker)).toBe(true);
  });
});
