import { createHash } from 'node:crypto';
import { createReadStream } from 'node:fs';
import { mkdir, readFile, readdir, rm } from 'node:fs/promises';
import { homedir } from 'node:os';
import { join } from 'node:path';
import { pipeline } from 'node:stream/promises';
import { z } from 'zod';
import { FrameFailure, type FrameProducts } from '../../contracts/jobs.js';
import { FrameMeasurement } from '../../contracts/measurement.js';
import { MEASURING_VERSION } from '../../contracts/measuring-version.js';
import type { MeasuringOptions } from '../../contracts/options.js';
import { StopledgerError } from '../../errors.js';
import { writeWhole } from '../../render/write-whole.js';
import { MEASURING_VERSIONS } from '../../version.js';
import { type FileState, sameContent } from './file-state.js';

/** What is known of a frame's content. */
export interface Kept {
  sha256: string;
  measurement: FrameMeasurement | null;
  failure: FrameFailure | null;
  /** Null where no pictures are kept. */
  products: FrameProducts | null;
}

/** Faces are personal data: for their owner only. */
const PRIVATE = 0o600;

const KeptFile = z.object({ measurement: FrameMeasurement.nullable(), failure: FrameFailure.nullable() });
const Index = z.record(
  z.string(),
  z.object({ bytes: z.number(), mtimeMs: z.number(), inode: z.number(), sha256: z.string() }),
);

/** Where measurements of a watched folder are kept unless told otherwise: the user's state folder (XDG Base Directory Specification). */
export function defaultStateFolder(env: NodeJS.ProcessEnv, watched: string): string {
  const { XDG_STATE_HOME: configured } = env;
  const base = configured !== undefined && configured !== '' ? configured : join(homedir(), '.local', 'state');
  const mark = createHash('sha256').update(watched).digest('hex').slice(0, 24);
  return join(base, 'stopledger', 'watch', mark);
}

/** Everything besides the bytes that decides a measurement. */
function keyOf(options: MeasuringOptions): string {
  const all = JSON.stringify([MEASURING_VERSION, MEASURING_VERSIONS, options]);
  return createHash('sha256').update(all).digest('hex').slice(0, 16);
}

/** SHA-256 of a file, in hex. */
export async function sha256Of(path: string): Promise<string> {
  const hash = createHash('sha256');
  await pipeline(createReadStream(path), hash);
  return hash.digest('hex');
}

/** Deletes what was kept. @returns whether there was anything */
export async function forgetKept(folder: string): Promise<boolean> {
  const there = await readdir(folder).catch(() => null);
  await rm(folder, { recursive: true, force: true });
  return there !== null;
}

/**
 * Measurements kept by content and by what they were measured with, so that a restart, a renamed file or a copy costs
 * no measuring. An index says which content stood under which path, so that not even the files have to be read again.
 * One entry that cannot be read is measured anew.
 */
export class KeptMeasurements {
  readonly folder: string;
  readonly #key: string;
  readonly #pictures: boolean;
  /** Contents by size, so that a file of a size never seen need not be read to know that it is new. */
  readonly #bySize = new Map<number, Set<string>>();
  readonly #index = new Map<string, z.infer<typeof Index>[string]>();

  private constructor(folder: string, key: string, pictures: boolean) {
    this.folder = folder;
    this.#key = key;
    this.#pictures = pictures;
  }

  /** @throws StopledgerError `bad-usage` when the folder cannot be made */
  static async open(folder: string, options: MeasuringOptions, pictures: boolean): Promise<KeptMeasurements> {
    const kept = new KeptMeasurements(folder, keyOf(options), pictures);
    try {
      await mkdir(kept.#frames, { recursive: true, mode: 0o700 });
    } catch (error) {
      const reason = error instanceof Error ? error.message : String(error);
      throw new StopledgerError('bad-usage', `the folder for kept measurements cannot be made: ${reason}`);
    }
    for (const name of await readdir(kept.#frames)) {
      const [, bytes, sha256, key] = /^(\d+)-([0-9a-f]{64})\.([0-9a-f]{16})\.json$/.exec(name) ?? [];
      if (sha256 !== undefined && key === kept.#key) kept.#contents(Number(bytes)).add(sha256);
    }
    const index = await readFile(join(folder, 'index.json'), 'utf8')
      .then(parseJson)
      .catch(() => null);
    for (const [path, entry] of Object.entries(Index.safeParse(index).data ?? {})) kept.#index.set(path, entry);
    return kept;
  }

  get #frames(): string {
    return join(this.folder, 'frames');
  }

  #contents(bytes: number): Set<string> {
    const contents = this.#bySize.get(bytes) ?? new Set();
    this.#bySize.set(bytes, contents);
    return contents;
  }

  #stem(bytes: number, sha256: string): string {
    return join(this.#frames, `${bytes}-${sha256}.${this.#key}`);
  }

  /** What is kept of the file at this path, or null. Reads the file only where its size, but not its path, is known. */
  async find(path: string, state: FileState): Promise<Kept | null> {
    const contents = this.#bySize.get(state.bytes);
    if (contents === undefined || contents.size === 0) return null;
    const indexed = this.#index.get(path);
    const known = indexed !== undefined && sameContent({ ...indexed, ctimeMs: 0 }, state) ? indexed.sha256 : null;
    const sha256 = known ?? (await sha256Of(path).catch(() => null));
    if (sha256 === null || !contents.has(sha256)) return null;
    const stem = this.#stem(state.bytes, sha256);
    try {
      const parsed = KeptFile.parse(parseJson(await readFile(`${stem}.json`, 'utf8')));
      const products = this.#pictures && parsed.measurement !== null ? await readProducts(stem) : null;
      this.#index.set(path, { ...pick(state), sha256 });
      return { sha256, ...parsed, products };
    } catch {
      return null;
    }
  }

  /** Keeps what was measured of the file at this path. */
  async put(path: string, state: FileState, kept: Kept): Promise<void> {
    const stem = this.#stem(state.bytes, kept.sha256);
    if (this.#pictures && kept.products !== null) {
      await writeWhole(`${stem}.preview.jpg`, kept.products.previewJpeg, PRIVATE);
      await writeWhole(`${stem}.regions.png`, kept.products.regionsPng, PRIVATE);
    }
    const { measurement, failure } = kept;
    await writeWhole(`${stem}.json`, JSON.stringify({ measurement, failure }), PRIVATE);
    this.#contents(state.bytes).add(kept.sha256);
    this.#index.set(path, { ...pick(state), sha256: kept.sha256 });
  }

  /** Writes the index, and deletes what belongs to none of these paths any more: deleted frames leave nothing here. */
  async tidy(paths: ReadonlySet<string>): Promise<void> {
    for (const path of this.#index.keys()) if (!paths.has(path)) this.#index.delete(path);
    const wanted = new Set([...this.#index.values()].map(({ sha256 }) => sha256));
    await writeWhole(join(this.folder, 'index.json'), `${JSON.stringify(Object.fromEntries(this.#index))}\n`, PRIVATE);
    for (const name of await readdir(this.#frames)) {
      const sha256 = /^\d+-([0-9a-f]{64})\./.exec(name)?.[1];
      if (sha256 === undefined || !wanted.has(sha256)) await rm(join(this.#frames, name), { force: true });
    }
  }
}

const pick = ({ bytes, mtimeMs, inode }: FileState) => ({ bytes, mtimeMs, inode });

const parseJson = (text: string): unknown => JSON.parse(text);

async function readProducts(stem: string): Promise<FrameProducts> {
  const [previewJpeg, regionsPng] = await Promise.all([
    readFile(`${stem}.preview.jpg`),
    readFile(`${stem}.regions.png`),
  ]);
  return { previewJpeg, regionsPng };
}
