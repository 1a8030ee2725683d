import { appendFileSync, copyFileSync, mkdirSync, readFileSync, readdirSync, renameSync, rmSync, statSync, utimesSync, writeFileSync } from 'node:fs'; // prettier-ignore
import { join } from 'node:path';
import sharp from 'sharp';
import { describe, expect, it, onTestFinished } from 'vitest';
import { endsAsItsFormat, fileStateOf } from '../../src/commands/watch/file-state.js';
import { FrameIntake, type TakenFrame } from '../../src/commands/watch/frame-intake.js';
import { KeptMeasurements, defaultStateFolder, forgetKept, sha256Of } from '../../src/commands/watch/kept-measurements.js'; // prettier-ignore
import { Settling } from '../../src/commands/watch/settling.js';
import { Sweep } from '../../src/commands/watch/sweep.js';
import { parsePatience } from '../../src/commands/watch/watch.js';
import { MeasuringOptions } from '../../src/contracts/options.js';
import { StopledgerError } from '../../src/errors.js';
import type { MeasuringPool } from '../../src/queue/measuring-pool.js';
import { fakeMeasurement } from '../support/measurement.js';
import { temporaryFolder } from '../support/temporary-folder.js';

const OPTIONS = MeasuringOptions.parse({});
const grey = sharp({ create: { width: 8, height: 8, channels: 3, background: '#777' } });

async function stateOf(path: string) {
  const state = await fileStateOf(path);
  if (state === null) throw new Error(`${path} is there`);
  return state;
}

describe('whether a file ends as its format ends', () => {
  it.each([
    ['jpeg', true],
    ['png', true],
    ['webp', false],
  ] as const)('%s', async (format, ends) => {
    const path = join(temporaryFolder(), 'frame');
    const whole = await grey.clone().toFormat(format).toBuffer();
    const says = async (content: Uint8Array) => {
      writeFileSync(path, content);
      return endsAsItsFormat(path, content.length);
    };
    expect(await says(whole)).toBe(ends);
    expect(await says(whole.subarray(0, -5))).toBe(false);
    expect(await says(whole.subarray(0, 1))).toBe(false);
    if (format === 'jpeg') {
      expect(await says(Buffer.concat([whole, Buffer.alloc(20)]))).toBe(true);
      expect(await says(Buffer.concat([whole.subarray(0, -5), Buffer.alloc(60)]))).toBe(false);
    }
    expect(await endsAsItsFormat(join(path, 'not', 'there'), 10)).toBe(false);
  });
});

describe('settling', () => {
  /** Gives what is told of a file until it is closed. */
  function settling(patienceMs = 60_000) {
    const still: { path: string; bytes: number; patient: boolean }[] = [];
    let wake: () => void = () => undefined;
    const settling = new Settling(patienceMs, {
      onStill(path, { bytes }, patient) {
        still.push({ path, bytes, patient });
        wake();
      },
      onGone(path) {
        still.push({ path, bytes: -1, patient: false });
        wake();
      },
    });
    onTestFinished(() => settling.close());
    const next = async () => {
      if (still.length === 0) await new Promise<void>((resolve) => (wake = resolve));
      return still.shift();
    };
    return { settling, next };
  }

  it('tells a file when nothing is added any more, with all of its bytes', async () => {
    const { settling: watched, next } = settling();
    const path = join(temporaryFolder(), 'P1.tif');
    writeFileSync(path, 'II*');
    watched.touch(path);
    appendFileSync(path, 'more');
    expect(await next()).toEqual({ path, bytes: 7, patient: false });
    expect(watched.size).toBe(0);
  });

  it('tells one held back again when it grew, and patiently when it did not', async () => {
    const { settling: watched, next } = settling(200);
    const path = join(temporaryFolder(), 'P1.tif');
    writeFileSync(path, 'II*');
    watched.hold(path, await stateOf(path));
    expect(await next()).toEqual({ path, bytes: 3, patient: true });
    watched.hold(path, await stateOf(path));
    appendFileSync(path, 'more');
    expect(await next()).toEqual({ path, bytes: 7, patient: false });
  });

  it('waits the whole patience for the first byte, and tells what is gone', async () => {
    const { settling: watched, next } = settling(200);
    const folder = temporaryFolder();
    const empty = join(folder, 'P1.tif');
    writeFileSync(empty, '');
    watched.touch(empty);
    expect(await next()).toEqual({ path: empty, bytes: 0, patient: true });
    watched.touch(join(folder, 'gone.tif'));
    expect(await next()).toMatchObject({ bytes: -1 });
  });

  it('takes at once what nobody has touched for long', async () => {
    const { settling: watched, next } = settling();
    // Files of the package were written, and their rights set, before this test began.
    const path = new URL('../../package.json', import.meta.url).pathname;
    watched.touch(path);
    expect(await next()).toMatchObject({ path, patient: false });
  });
});

describe('kept measurements', () => {
  async function open(folder: string, options = OPTIONS, pictures = false) {
    return KeptMeasurements.open(folder, options, pictures);
  }
  const products = { previewJpeg: Buffer.from('preview'), regionsPng: Buffer.from('regions') };

  async function frame(content: string) {
    const path = join(temporaryFolder(), 'P1.jpg');
    writeFileSync(path, content);
    return { path, state: await stateOf(path), sha256: await sha256Of(path) };
  }

  it('are found by content: under another path, after a restart; not with other options or other content', async () => {
    const folder = join(temporaryFolder(), 'state');
    const { path, state, sha256 } = await frame('some bytes');
    const kept = await open(folder);
    expect(await kept.find(path, state)).toBeNull();
    const measurement = fakeMeasurement();
    await kept.put(path, state, { sha256, measurement, failure: null, products });
    const copy = `${path}.copy`;
    copyFileSync(path, copy);
    const again = await open(folder);
    expect(await again.find(copy, await stateOf(copy))).toEqual({ sha256, measurement, failure: null, products: null });
    expect(await (await open(folder, { ...OPTIONS, toneResponse: 'none' })).find(path, state)).toBeNull();
    writeFileSync(copy, 'same bytes');
    expect(await again.find(copy, await stateOf(copy))).toBeNull();
  });

  it('are for their owner only, and without pictures unless a report needs them', async () => {
    const folder = join(temporaryFolder(), 'state');
    const { path, state, sha256 } = await frame('some bytes');
    const kept = await open(folder);
    await kept.put(path, state, { sha256, measurement: fakeMeasurement(), failure: null, products });
    const files = readdirSync(join(folder, 'frames'));
    expect(files.filter((name) => !name.endsWith('.json'))).toEqual([]);
    expect(files.map((name) => statSync(join(folder, 'frames', name)).mode & 0o777)).toEqual([0o600]);
    expect(statSync(join(folder, 'frames')).mode & 0o777).toBe(0o700);
    const withPictures = await open(folder, OPTIONS, true);
    // Without its pictures a report would lack them: measured anew.
    expect(await withPictures.find(path, state)).toBeNull();
    await withPictures.put(path, state, { sha256, measurement: fakeMeasurement(), failure: null, products });
    expect((await withPictures.find(path, state))?.products).toEqual(products);
  });

  it('of deleted frames go, damaged ones count as none, and all can be forgotten', async () => {
    const folder = join(temporaryFolder(), 'state');
    const { path, state, sha256 } = await frame('some bytes');
    const kept = await open(folder);
    await kept.put(path, state, { sha256, measurement: null, failure: { code: 'frame-corrupt', message: 'x' }, products: null }); // prettier-ignore
    await kept.tidy(new Set([path]));
    const [name = ''] = readdirSync(join(folder, 'frames'));
    expect((await (await open(folder)).find(path, state))?.failure?.code).toBe('frame-corrupt');
    writeFileSync(join(folder, 'frames', name), '{');
    expect(await (await open(folder)).find(path, state)).toBeNull();
    writeFileSync(join(folder, 'index.json'), 'no JSON');
    await (await open(folder)).tidy(new Set());
    expect(readdirSync(join(folder, 'frames'))).toEqual([]);
    expect(await forgetKept(folder)).toBe(true);
    expect(await forgetKept(folder)).toBe(false);
  });

  it('lie in the user’s state folder, each watched folder apart', () => {
    const here = defaultStateFolder({ XDG_STATE_HOME: '/state' }, '/in');
    expect(here).toMatch(/^\/state\/stopledger\/watch\/[0-9a-f]{24}$/);
    expect(defaultStateFolder({ XDG_STATE_HOME: '/state' }, '/other')).not.toBe(here);
    expect(defaultStateFolder({}, '/in')).toMatch(/\.local\/state\/stopledger\/watch\//);
  });
});

describe('the intake', () => {
  /** Measures by what the test says; counts how often it is asked. */
  function intake(kept: KeptMeasurements, measure: () => Promise<void> = async () => undefined) {
    const frames: TakenFrame[] = [];
    const asked: string[] = [];
    let wake: () => void = () => undefined;
    const pool: MeasuringPool = {
      workers: 1,
      warm: () => undefined,
      close: async () => undefined,
      sample: () => Promise.reject(new Error('no bracket here')),
      async measure({ path, signal }) {
        asked.push(path);
        await measure();
        signal?.throwIfAborted();
        return { measurement: fakeMeasurement(), products: { previewJpeg: Buffer.of(), regionsPng: Buffer.of() } };
      },
    };
    const taking = new FrameIntake(
      { pool, kept, options: OPTIONS, patienceMs: 60_000 },
      {
        onFrame(frame) {
          frames.push(frame);
          wake();
        },
        onGone: () => undefined,
        onLookedUp: () => wake(),
        onProgress: () => undefined,
        onNotKept(error) {
          throw error;
        },
      },
    );
    const next = async () => {
      if (frames.length === 0) await new Promise<void>((resolve) => (wake = resolve));
      return frames.shift();
    };
    return { taking, next, asked };
  }

  it('tries a frame again that was read too early, as soon as it grew: it is never told as unreadable', async () => {
    const folder = temporaryFolder();
    const path = join(folder, 'P1.tif');
    writeFileSync(path, 'half');
    let tries = 0;
    const { taking, next } = intake(await KeptMeasurements.open(join(folder, 'state'), OPTIONS, false), async () => {
      tries += 1;
      if (tries > 1) return;
      // The writer goes on only after the first attempt came to nothing.
      setImmediate(() => appendFileSync(path, ' and the rest'));
      throw new StopledgerError('frame-truncated', 'the image data ends early');
    });
    taking.ready();
    taking.seen(path);
    expect(await next()).toMatchObject({ path, failure: null, known: false });
    expect(tries).toBe(2);
    await taking.stop(0);
  });

  it('measures anew what changed while it was measured', async () => {
    const folder = temporaryFolder();
    const path = join(folder, 'P1.tif');
    writeFileSync(path, 'one');
    const { taking, next, asked } = intake(await KeptMeasurements.open(join(folder, 'state'), OPTIONS, false), async () => {
      if (asked.length === 1) writeFileSync(path, 'another content');
    }); // prettier-ignore
    taking.ready();
    taking.seen(path);
    await next();
    expect(asked).toHaveLength(2);
    await taking.stop(0);
  });

  it('measures nothing again after a restart, and knows which frames were there', async () => {
    const folder = temporaryFolder();
    const paths = ['P1.tif', 'P2.tif'].map((name) => join(folder, name));
    for (const path of paths) writeFileSync(path, path);
    const state = join(folder, 'state');
    const kept = await KeptMeasurements.open(state, OPTIONS, false);
    for (const path of paths) {
      // The fake measurement is of no real file; what is kept goes by the file's own digest.
      const given = { sha256: await sha256Of(path), measurement: fakeMeasurement(), failure: null, products: null };
      await kept.put(path, await stateOf(path), given);
    }
    const { taking, next, asked } = intake(await KeptMeasurements.open(state, OPTIONS, false));
    for (const path of paths) taking.seen(path);
    taking.ready();
    expect((await next())?.known).toBe(true);
    expect((await next())?.known).toBe(true);
    expect(asked).toEqual([]);
    const renamed = join(folder, 'P3.tif');
    renameSync(paths[0] ?? '', renamed);
    taking.gone(paths[0] ?? '');
    taking.seen(renamed);
    expect(await next()).toMatchObject({ path: renamed, known: false });
    expect(asked).toEqual([]);
    expect(taking.paths).toEqual(new Set([paths[1], renamed]));
    await taking.stop(0);
  });

  it('hands back what does not end in time', async () => {
    const folder = temporaryFolder();
    const path = join(folder, 'P1.tif');
    writeFileSync(path, 'one');
    let begun: () => void = () => undefined;
    const hasBegun = new Promise<void>((resolve) => (begun = resolve));
    let end: () => void = () => undefined;
    const promise = new Promise<void>((resolve) => (end = resolve));
    const { taking, asked } = intake(await KeptMeasurements.open(join(folder, 'state'), OPTIONS, false), () => {
      begun();
      return promise;
    });
    taking.ready();
    taking.seen(path);
    await hasBegun;
    const stopped = taking.stop(0);
    // The deadline is over as soon as timers run; what is measured then ends too late.
    setTimeout(() => {
      end();
    }, 20);
    await stopped;
    expect(asked).toHaveLength(1);
    expect(taking.paths).toEqual(new Set());
  });
});

describe('the sweep', () => {
  it('tells every file at first, then what changed, came and went since the look before', async () => {
    const folder = temporaryFolder();
    mkdirSync(join(folder, 'deep', 'er'), { recursive: true });
    const [one, two, three] = ['P1.jpg', 'deep/P2.jpg', 'deep/er/P3.jpg'].map((name) => join(folder, name)) as [string, string, string]; // prettier-ignore
    for (const path of [one, two]) writeFileSync(path, 'x');
    const skips = (path: string) => path.endsWith('.txt');
    const sweep = new Sweep({ folder, recursive: true, skips });
    const first = await sweep.look();
    expect(new Set(first.changed)).toEqual(new Set([one, two]));
    expect(first.gone).toEqual([]);
    expect(await sweep.look()).toEqual({ changed: [], gone: [] });
    writeFileSync(three, 'x');
    writeFileSync(join(folder, 'notes.txt'), 'x');
    utimesSync(one, 1, 1);
    rmSync(two);
    expect(await sweep.look()).toEqual({ changed: [one, three], gone: [two] });
    const flat = new Sweep({ folder, recursive: false, skips });
    await flat.look();
    writeFileSync(three, 'other');
    expect(await flat.look()).toEqual({ changed: [], gone: [] });
  });
});

it('reads the patience in seconds', () => {
  expect(parsePatience(undefined)).toBe(5);
  expect(parsePatience('2.5')).toBe(2.5);
  for (const text of ['0', '-1', '4000', 'long', '1e3', '']) expect(() => parsePatience(text)).toThrow(/--patience/);
  expect(readFileSync(new URL('../../src/commands/program.ts', import.meta.url), 'utf8')).toContain("'5'");
});
