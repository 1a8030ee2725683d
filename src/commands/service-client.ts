import { createHash } from 'node:crypto';
import { setTimeout as delay } from 'node:timers/promises';
import { type z } from 'zod';
import { FrameReceipt, Problem, ShootStatus } from '../contracts/api.js';
import { FrameMeasurement } from '../contracts/measurement.js';
import type { ShootPlan } from '../contracts/plan.js';
import { ShootReport } from '../contracts/report.js';
import { StopledgerError, asStopledgerError } from '../errors.js';

export interface ServiceClientOptions {
  /** Address of the service, with or without a path in front of /v1. */
  to: string;
  token?: string;
  signal?: AbortSignal;
  /** How often a request that may succeed later is tried. */
  attempts?: number;
  /** First pause between attempts; doubled each time. */
  firstPauseMs?: number;
}

const RETRY_STATUS = new Set([408, 425, 429, 500, 502, 503, 504, 507]);
const LONGEST_PAUSE_MS = 8000;
const REQUEST_LIMIT_MS = 15 * 60_000;

function baseAddress(to: string): URL {
  try {
    const url = new URL(to.endsWith('/') ? to : `${to}/`);
    if (url.protocol === 'http:' || url.protocol === 'https:') return url;
  } catch {
    // told below
  }
  throw new StopledgerError('bad-usage', `--to: an address such as http://127.0.0.1:4180 expected, received "${to}"`);
}

/** Speaks to a running service: retries what may succeed later, and gives its problem details back as our errors. */
export class ServiceClient {
  readonly #base: URL;
  readonly #options: ServiceClientOptions;

  constructor(options: ServiceClientOptions) {
    this.#base = baseAddress(options.to);
    this.#options = options;
  }

  /** Where a shoot is, for whoever goes on by hand. */
  shootAddress(shootId: string): string {
    return new URL(`v1/shoots/${encodeURIComponent(shootId)}`, this.#base).href;
  }

  async createShoot(name: string, plan: ShootPlan): Promise<ShootStatus> {
    return this.#json(ShootStatus, 'POST', 'v1/shoots', { json: { name, plan } });
  }

  /** Safe to repeat: the same bytes again are no second frame. */
  async putFrame(shootId: string, name: string, bytes: Uint8Array): Promise<FrameReceipt> {
    const digest = createHash('sha256').update(bytes).digest('base64');
    return this.#json(
      FrameReceipt,
      'PUT',
      `v1/shoots/${encodeURIComponent(shootId)}/frames/${encodeURIComponent(name)}`,
      {
        bytes,
        headers: { 'content-type': 'application/octet-stream', 'content-digest': `sha-256=:${digest}:` },
      },
    );
  }

  async complete(shootId: string): Promise<ShootStatus> {
    return this.#json(ShootStatus, 'POST', `v1/shoots/${encodeURIComponent(shootId)}/complete`, {});
  }

  async status(shootId: string): Promise<ShootStatus> {
    return this.#json(ShootStatus, 'GET', `v1/shoots/${encodeURIComponent(shootId)}`, {});
  }

  async report(shootId: string): Promise<ShootReport> {
    return this.#json(ShootReport, 'GET', `v1/shoots/${encodeURIComponent(shootId)}/report?wait=30`, {});
  }

  async measurement(shootId: string, name: string): Promise<FrameMeasurement> {
    return this.#json(
      FrameMeasurement,
      'GET',
      `v1/shoots/${encodeURIComponent(shootId)}/frames/${encodeURIComponent(name)}`,
      {},
    );
  }

  /** The preview JPEG, or null where the service has none. */
  async preview(shootId: string, name: string): Promise<Uint8Array | null> {
    return this.#pictureIfAny(shootId, name, 'preview');
  }

  /** The preview beside itself with the report's corrections applied, or null where the service has none. */
  async beforeAfter(shootId: string, name: string): Promise<Uint8Array | null> {
    return this.#pictureIfAny(shootId, name, 'before-after');
  }

  /** Where a lift of the report applies. */
  async liftMask(shootId: string, name: string, asked: LiftMaskRequest): Promise<Uint8Array> {
    const query = new URLSearchParams({ region: asked.region, depth: String(asked.depth), format: asked.format });
    return this.#picture(shootId, name, `lift-mask?${query.toString()}`, `image/${asked.format}`);
  }

  async #pictureIfAny(shootId: string, name: string, which: string): Promise<Uint8Array | null> {
    try {
      return await this.#picture(shootId, name, which, 'image/jpeg');
    } catch (error) {
      if (error instanceof StopledgerError && error.status === 404) return null;
      throw error;
    }
  }

  async #picture(shootId: string, name: string, which: string, accept: string): Promise<Uint8Array> {
    const path = `v1/shoots/${encodeURIComponent(shootId)}/frames/${encodeURIComponent(name)}/${which}`;
    const response = await this.#request('GET', path, { headers: { accept } });
    return new Uint8Array(await response.arrayBuffer());
  }

  async #json<T>(schema: z.ZodType<T>, method: string, path: string, body: RequestBody): Promise<T> {
    const response = await this.#request(method, path, {
      ...body,
      headers: { accept: 'application/json', ...body.headers },
    });
    const parsed = schema.safeParse(await response.json().catch(() => undefined));
    if (parsed.success) return parsed.data;
    throw new StopledgerError(
      'internal',
      `${method} ${this.#base.href}${path}: the answer is not what this version understands`,
    );
  }

  async #request(method: string, path: string, body: RequestBody): Promise<Response> {
    const { attempts = 6, firstPauseMs = 250, signal } = this.#options;
    for (let tries = 1; ; tries += 1) {
      const outcome = await this.#once(method, path, body);
      if (outcome instanceof Response) return outcome;
      if (!outcome.mayRetry || tries >= attempts) throw outcome.error;
      const pause = outcome.retryAfterMs ?? Math.min(LONGEST_PAUSE_MS, firstPauseMs * 2 ** (tries - 1));
      await delay(pause, undefined, signal === undefined ? {} : { signal });
    }
  }

  async #once(method: string, path: string, body: RequestBody): Promise<Response | Refusal> {
    const { signal, token } = this.#options;
    const url = new URL(path, this.#base);
    const limit = AbortSignal.timeout(REQUEST_LIMIT_MS);
    const headers: Record<string, string> = { ...body.headers };
    if (token !== undefined) headers['authorization'] = `Bearer ${token}`;
    if (body.json !== undefined) headers['content-type'] = 'application/json';
    const content = body.json === undefined ? body.bytes : JSON.stringify(body.json);
    try {
      const response = await fetch(url, {
        method,
        headers,
        redirect: 'error',
        signal: signal === undefined ? limit : AbortSignal.any([signal, limit]),
        ...(content === undefined ? {} : { body: content as BodyInit }),
      });
      return response.ok ? response : await refusalOf(response, method, url);
    } catch (error) {
      signal?.throwIfAborted();
      return { error: unreachable(error, method, url), mayRetry: true, retryAfterMs: null };
    }
  }
}

interface LiftMaskRequest {
  region: string;
  depth: number;
  format: string;
}

interface RequestBody {
  json?: unknown;
  bytes?: Uint8Array;
  headers?: Record<string, string>;
}

interface Refusal {
  error: StopledgerError;
  mayRetry: boolean;
  retryAfterMs: number | null;
}

function unreachable(error: unknown, method: string, url: URL): StopledgerError {
  const cause =
    error instanceof Error && error.cause instanceof Error ? error.cause.message : asStopledgerError(error).message;
  return new StopledgerError('internal', `${method} ${url.href}: no answer from the service (${cause})`, {
    cause: error,
  });
}

async function refusalOf(response: Response, method: string, url: URL): Promise<Refusal> {
  const problem = Problem.safeParse(await response.json().catch(() => undefined));
  const seconds = Number(response.headers.get('retry-after') ?? Number.NaN);
  const retryAfterMs = Number.isFinite(seconds) ? Math.min(60_000, Math.max(0, seconds * 1000)) : null;
  if (problem.success) {
    const { code, detail, retryable } = problem.data;
    return { error: new StopledgerError(code, detail), mayRetry: retryable, retryAfterMs };
  }
  return {
    error: new StopledgerError(
      'internal',
      `${method} ${url.href}: the service answered ${response.status} ${response.statusText}`,
    ),
    mayRetry: RETRY_STATUS.has(response.status),
    retryAfterMs,
  };
}
