import { setTimeout as delay } from 'node:timers/promises';
import { Problem, ShootStatus } from '../../src/contracts/api.js';
import { FrameMeasurement } from '../../src/contracts/measurement.js';
import { ShootReport } from '../../src/contracts/report.js';
import type { SimulatedFrame } from './simulated-frames.js';

const TRY_AGAIN_MS = 150;
const REQUEST_LIMIT_MS = 20_000;
const WAIT_SECONDS = 10;

export interface ShootClientOptions {
  /** Services that show the same shoots; the next one is asked when one does not answer. */
  urls: readonly string[];
  headers?: Readonly<Record<string, string>>;
  /** After so long it gives up. */
  limitMs: number;
  /** Told of every answer that is not the one hoped for: status and code, or `no answer`. */
  onRefused?: (what: string) => void;
}

interface Answer {
  status: number;
  body: Buffer;
}

function asJson(body: Buffer): unknown {
  try {
    return JSON.parse(body.toString());
  } catch {
    return null;
  }
}

/** Does its work in parallel, a few pieces at a time. */
export async function inParallel<T>(
  items: readonly T[],
  atOnce: number,
  work: (item: T) => Promise<void>,
): Promise<void> {
  let next = 0;
  const takeNext = async (): Promise<void> => {
    for (let item = items[next++]; item !== undefined; item = items[next++]) await work(item);
  };
  await Promise.all(Array.from({ length: atOnce }, takeNext));
}

/**
 * One shoot, as an ingest script that does not give up would send it: whatever is refused or not answered is sent again
 * to the next service, until `limitMs` are over.
 */
export class ShootClient {
  readonly #options: ShootClientOptions;
  readonly #endsAt: number;
  #asked = 0;
  #path = '';

  constructor(options: ShootClientOptions) {
    this.#options = options;
    this.#endsAt = performance.now() + options.limitMs;
  }

  /** The shoot's id, once it was made. */
  get id(): string {
    return this.#path.split('/').at(-1) ?? '';
  }

  async create(plan: unknown = {}): Promise<void> {
    const body = JSON.stringify({ name: 'Makers’ day', plan });
    const answer = await this.#ask('/v1/shoots', [201], { method: 'POST', headers: { 'content-type': 'application/json' }, body }); // prettier-ignore
    this.#path = `/v1/shoots/${ShootStatus.parse(asJson(answer.body)).id}`;
  }

  /** True when the service had it already: an earlier answer was lost. */
  async put({ name, bytes }: SimulatedFrame): Promise<boolean> {
    const body = new Uint8Array(bytes);
    const { status } = await this.#ask(`${this.#path}/frames/${name}`, [200, 201], { method: 'PUT', body });
    return status === 200;
  }

  async complete(): Promise<void> {
    await this.#ask(`${this.#path}/complete`, [200], { method: 'POST' });
  }

  async status(): Promise<ShootStatus> {
    return ShootStatus.parse(asJson((await this.#ask(this.#path, [200])).body));
  }

  /** Once no frame is waiting any more; `text` is what the service answered. */
  async report(): Promise<{ report: ShootReport; text: string }> {
    const text = (await this.#ask(`${this.#path}/report?wait=${WAIT_SECONDS}`, [200])).body.toString();
    return { report: ShootReport.parse(JSON.parse(text)), text };
  }

  async measurement(name: string): Promise<FrameMeasurement> {
    return FrameMeasurement.parse(asJson((await this.#ask(`${this.#path}/frames/${name}`, [200])).body));
  }

  /** As JPEG. */
  async picture(name: string, what: 'preview' | 'overlay'): Promise<Buffer> {
    return (await this.#ask(`${this.#path}/frames/${name}/${what}`, [200])).body;
  }

  /** Where a service shows it. */
  addressAt(url: string): string {
    return url + this.#path;
  }

  async delete(): Promise<void> {
    await this.#ask(this.#path, [204, 404], { method: 'DELETE' });
  }

  async #ask(path: string, wanted: readonly number[], init: RequestInit = {}): Promise<Answer> {
    const { urls, onRefused, headers } = this.#options;
    let last = 'no answer';
    while (performance.now() < this.#endsAt) {
      const url = urls[(this.#asked += 1) % urls.length] ?? '';
      try {
        const signal = AbortSignal.timeout(REQUEST_LIMIT_MS);
        const answer = await fetch(url + path, { ...init, headers: { ...headers, ...init.headers }, signal });
        const body = Buffer.from(await answer.arrayBuffer());
        if (wanted.includes(answer.status)) return { status: answer.status, body };
        const problem = Problem.safeParse(asJson(body));
        last = `${answer.status} ${problem.success ? problem.data.code : 'without problem details'}`;
      } catch {
        last = 'no answer';
      }
      if (last !== '409 report-not-ready') onRefused?.(last);
      await delay(TRY_AGAIN_MS);
    }
    throw new Error(`${init.method ?? 'GET'} ${path}: given up after ${this.#options.limitMs / 1000} s (${last})`);
  }
}
