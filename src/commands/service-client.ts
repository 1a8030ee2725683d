import { setMaxListeners } from 'node:events';
import { setTimeout as delay } from 'node:timers/promises';
import { type z } from 'zod';
import { FrameReceipt, Problem, ShootStatus } from '../contracts/api.js';
import { FrameMeasurement } from '../contracts/measurement.js';
import type { ShootPlan } from '../contracts/plan.js';
import { ShootReport } from '../contracts/report.js';
import { StopledgerError, reasonOf } from '../errors.js';
import { type Answer, Connections, type ExchangeLimits } from './exchange.js';
import { FrameFile } from './frame-file.js';

export interface ServiceClientOptions {
  /** Address of the service, with or without a path in front of /v1. */
  to: string;
  token?: string;
  signal?: AbortSignal;
  /** How often a request that may succeed later is tried. */
  attempts?: number;
  /** First pause between attempts; doubled each time. */
  firstPauseMs?: number;
  limits?: Partial<ExchangeLimits>;
}

/** Connections to the service at a time, so many uploads. */
export const MOST_CONNECTIONS = 4;

const RETRY_STATUS = new Set([408, 425, 429, 500, 502, 503, 504, 507]);
const LONGEST_PAUSE_MS = 8000;
const LIMITS: ExchangeLimits = { connectMs: 10_000, idleMs: 300_000, wholeMs: 15 * 60_000, continueMs: 1000 };
/** Of larger files the service is asked first whether it wants them, so that one it refuses is not sent for nothing. */
const ASKED_FROM_BYTES = 256 * 1024;

function baseAddress(to: string): URL {
  const address = to.endsWith('/') ? to : `${to}/`;
  const url = URL.canParse(address) ? new URL(address) : null;
  if (url === null || (url.protocol !== 'http:' && url.protocol !== 'https:')) {
    throw new StopledgerError('bad-usage', `--to: an address such as http://127.0.0.1:4180 expected, received "${to}"`);
  }
  if (url.username !== '' || url.password !== '') {
    const message = `--to: an address without a user name or password expected, received one for ${url.host}; --token gives a token`;
    throw new StopledgerError('bad-usage', message);
  }
  return url;
}

/** Speaks to a running service: retries what may succeed later, and gives its problem details back as our errors. */
export class ServiceClient {
  readonly #base: URL;
  readonly #options: ServiceClientOptions;
  readonly #connections: Connections;
  readonly #closed = new AbortController();
  readonly #signal: AbortSignal;
  /** False once the service, or what stands before it, did not say whether it wants a body. */
  #saysContinue = true;

  constructor(options: ServiceClientOptions) {
    this.#base = baseAddress(options.to);
    this.#options = options;
    this.#connections = new Connections(MOST_CONNECTIONS, { ...LIMITS, ...options.limits });
    const { signal: closed } = this.#closed;
    this.#signal = options.signal === undefined ? closed : AbortSignal.any([options.signal, closed]);
    // Every request that is under way listens.
    setMaxListeners(0, this.#signal);
  }

  /** Ends what is still under way. */
  close(): void {
    this.#closed.abort();
    this.#connections.close();
  }

  /** Where a shoot is, for whoever goes on by hand. */
  shootAddress(shootId: string): string {
    return new URL(`v1/shoots/${encodeURIComponent(shootId)}`, this.#base).href;
  }

  async createShoot(name: string, plan: ShootPlan): Promise<ShootStatus> {
    return this.#json(ShootStatus, 'POST', 'v1/shoots', { json: { name, plan } });
  }

  /** Sends a file. Safe to repeat: the same bytes again are no second frame. Throws `frame-file-missing`. */
  async putFrame(shootId: string, name: string, path: string): Promise<FrameReceipt> {
    const address = `v1/shoots/${encodeURIComponent(shootId)}/frames/${encodeURIComponent(name)}`;
    return this.#json(FrameReceipt, 'PUT', address, { file: path });
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
    return (await this.#request('GET', path, { accept })).body;
  }

  async #json<T>(schema: z.ZodType<T>, method: string, path: string, content: Content): Promise<T> {
    const answer = await this.#request(method, path, content);
    const parsed = schema.safeParse(jsonOf(answer));
    if (parsed.success) return parsed.data;
    throw new StopledgerError(
      'internal',
      `${method} ${this.#base.href}${path}: the answer is not what this version understands`,
    );
  }

  async #request(method: string, path: string, content: Content): Promise<Answer> {
    const { attempts = 6, firstPauseMs = 250 } = this.#options;
    for (let tries = 1; ; tries += 1) {
      const outcome = await this.#once(method, path, content);
      if ('body' in outcome) return outcome;
      if (!outcome.mayRetry || tries >= attempts) throw outcome.error;
      const pause = outcome.retryAfterMs ?? Math.min(LONGEST_PAUSE_MS, firstPauseMs * 2 ** (tries - 1));
      await delay(pause, undefined, { signal: this.#signal });
    }
  }

  async #once(method: string, path: string, { json, file: filePath, accept }: Content): Promise<Answer | Refusal> {
    const { token } = this.#options;
    this.#signal.throwIfAborted();
    const url = new URL(path, this.#base);
    const headers: Record<string, string> = {
      'user-agent': 'stopledger',
      accept: accept ?? 'application/json',
      'accept-encoding': 'identity',
    };
    if (token !== undefined) headers['authorization'] = `Bearer ${token}`;
    if (json !== undefined) headers['content-type'] = 'application/json';
    // Hashed anew for every attempt: what was changed meanwhile is then sent as it is.
    const file = filePath === undefined ? null : await FrameFile.open(filePath);
    if (file !== null) Object.assign(headers, headersOf(file, this.#saysContinue));
    try {
      const body = file ?? (json === undefined ? null : Buffer.from(JSON.stringify(json)));
      const answer = await this.#connections.exchange(url, { method, headers, body }, this.#signal);
      if (answer.wasSilent || answer.status === 417) this.#saysContinue = false;
      return answer.status >= 200 && answer.status < 300 ? answer : refusalOf(answer, method, url);
    } catch (error) {
      this.#signal.throwIfAborted();
      return { error: unreachable(error, method, url, file), mayRetry: true, retryAfterMs: null };
    } finally {
      await file?.close();
    }
  }
}

function headersOf({ bytes, sha256Base64 }: FrameFile, mayAsk: boolean): Record<string, string> {
  return {
    'content-type': 'application/octet-stream',
    'content-length': String(bytes),
    'content-digest': `sha-256=:${sha256Base64}:`,
    ...(mayAsk && bytes >= ASKED_FROM_BYTES ? { expect: '100-continue' } : {}),
  };
}

function jsonOf({ body }: Answer): unknown {
  try {
    return JSON.parse(body.toString('utf8'));
  } catch {
    return undefined;
  }
}

interface LiftMaskRequest {
  region: string;
  depth: number;
  format: string;
}

/** What goes with a request: JSON, or the file of this path. */
interface Content {
  json?: unknown;
  file?: string;
  accept?: string;
}

interface Refusal {
  error: StopledgerError;
  mayRetry: boolean;
  /** `null` where the service does not say when. */
  retryAfterMs: number | null;
}

function unreachable(error: unknown, method: string, url: URL, file: FrameFile | null): StopledgerError {
  if (error instanceof StopledgerError) return error;
  const sent = file === null ? '' : `, ${file.sentBytes} of ${file.bytes} bytes sent`;
  const message = `${method} ${url.href}: no answer from the service (${reasonOf(error)}${sent})`;
  return new StopledgerError('internal', message, { cause: error });
}

function refusalOf(answer: Answer, method: string, url: URL): Refusal {
  const { status, statusText, headers } = answer;
  const problem = Problem.safeParse(jsonOf(answer));
  const seconds = Number(headers['retry-after'] ?? Number.NaN);
  const retryAfterMs = Number.isFinite(seconds) ? Math.min(60_000, Math.max(0, seconds * 1000)) : null;
  if (problem.success) {
    const { code, detail, retryable } = problem.data;
    return { error: new StopledgerError(code, detail), mayRetry: retryable, retryAfterMs };
  }
  const told = `${method} ${url.href}: the service answered ${status} ${statusText}`;
  const { location } = headers;
  if (status >= 300 && status < 400 && location !== undefined) {
    const message = `${told} and points to "${location}"; frames and token are sent to no other address than --to says`;
    return { error: new StopledgerError('internal', message, { retryable: false }), mayRetry: false, retryAfterMs };
  }
  // 417: what stands before the service knows no `Expect`; the next attempt is without it.
  if (status === 417) return { error: new StopledgerError('internal', told), mayRetry: true, retryAfterMs: 0 };
  return { error: new StopledgerError('internal', told), mayRetry: RETRY_STATUS.has(status), retryAfterMs };
}
