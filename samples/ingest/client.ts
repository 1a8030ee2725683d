/**
 * A small typed client of the stopledger service: what an ingest script needs, and nothing that Node 20 does not have.
 * Copy it. A test holds its types to the service's contracts and every call to the OpenAPI document.
 */
import { createHash } from 'node:crypto';
import { setTimeout as delay } from 'node:timers/promises';

export interface Progress {
  received: number;
  measuring: number;
  measured: number;
  failed: number;
  total: number;
}
export interface ShootStatus {
  id: string;
  name: string;
  state: 'open' | 'measuring' | 'ready';
  progress: Progress;
}
export interface FrameReceipt {
  name: string;
  sha256: string;
  /** False when the same bytes were here under the same name already. */
  created: boolean;
}
export interface Report {
  summary: { frames: number; consistent: number; findings: string[] };
  frames: { name: string; verdict: 'consistent' | 'check' | 'off' | 'unreadable'; toBaselineStops: number | null }[];
}
export type ShootEvent =
  | { event: 'progress' | 'ready'; data: ShootStatus }
  | { event: 'frame'; data: { shootId: string; name: string; state: string; progress: Progress } }
  | { event: 'gone'; data: { shootId: string } };

/** An answer that is no success: problem details, RFC 9457. */
export class ServiceProblem extends Error {
  constructor(
    readonly status: number,
    readonly code: string,
    message: string,
    readonly retryable: boolean,
  ) {
    super(message);
  }
}

const ATTEMPTS = 6;

export class StopledgerClient {
  constructor(
    private readonly service: string,
    private readonly token?: string,
  ) {}

  createShoot(name: string): Promise<ShootStatus> {
    return this.json('POST', '/v1/shoots', JSON.stringify({ name }), { 'content-type': 'application/json' });
  }

  /** Safe to repeat: the same bytes under the same name are taken once. */
  putFrame(shootId: string, name: string, bytes: Uint8Array<ArrayBuffer>): Promise<FrameReceipt> {
    const digest = createHash('sha256').update(bytes).digest('base64');
    return this.json('PUT', `/v1/shoots/${shootId}/frames/${encodeURIComponent(name)}`, bytes, {
      'content-type': 'application/octet-stream',
      'content-digest': `sha-256=:${digest}:`,
    });
  }

  /** Safe to repeat. */
  complete(shootId: string): Promise<ShootStatus> {
    return this.json('POST', `/v1/shoots/${shootId}/complete`);
  }

  report(shootId: string): Promise<Report> {
    return this.json('GET', `/v1/shoots/${shootId}/report?wait=30`);
  }

  /**
   * The shoot's events until it is ready or gone. A stream that breaks is taken up again: each begins with the whole
   * state, so nothing is missed.
   */
  async *events(shootId: string): AsyncGenerator<ShootEvent> {
    for (let attempt = 1; ; attempt += 1) {
      const response = await this.call('GET', `/v1/shoots/${shootId}/events`, undefined, { accept: 'text/event-stream' }); // prettier-ignore
      try {
        let text = '';
        for await (const piece of response.body?.pipeThrough(new TextDecoderStream()) ?? []) {
          const blocks = (text + piece).split('\n\n');
          text = blocks.pop() ?? '';
          for (const block of blocks) {
            const event = parsed(block);
            if (event === null) continue;
            attempt = 1;
            yield event;
            if (event.event === 'ready' || event.event === 'gone') return;
          }
        }
      } catch (error) {
        if (attempt >= ATTEMPTS) throw error;
      }
      await delay(250 * 2 ** attempt);
    }
  }

  private async json<T>(method: string, path: string, body?: BodyInit, headers?: Record<string, string>): Promise<T> {
    const response = await this.call(method, path, body, { accept: 'application/json', ...headers });
    return (await response.json()) as T;
  }

  /** Tries again what may succeed later: no answer, or a problem that says that it is retryable. */
  private async call(method: string, path: string, body?: BodyInit, headers?: Record<string, string>) {
    const authorization = this.token === undefined ? {} : { authorization: `Bearer ${this.token}` };
    for (let attempt = 1; ; attempt += 1) {
      let pauseMs = 250 * 2 ** attempt;
      try {
        const response = await fetch(this.service + path, {
          method,
          headers: { ...authorization, ...headers },
          ...(body === undefined ? {} : { body }),
        });
        if (response.ok) return response;
        const problem = (await response.json().catch(() => ({}))) as Partial<Record<string, unknown>>;
        const told = typeof problem.detail === 'string' ? problem.detail : response.statusText;
        const retryable = typeof problem.retryable === 'boolean' ? problem.retryable : response.status >= 500;
        const error = new ServiceProblem(response.status, typeof problem.code === 'string' ? problem.code : 'unknown', told, retryable); // prettier-ignore
        // A report that is not ready is no failure of the service: it is asked for as long as it takes.
        if (!retryable || (attempt >= ATTEMPTS && error.code !== 'report-not-ready')) throw error;
        const seconds = Number(response.headers.get('retry-after') ?? NaN);
        if (Number.isFinite(seconds)) pauseMs = seconds * 1000;
      } catch (error) {
        if (error instanceof ServiceProblem) throw error;
        if (attempt >= ATTEMPTS) throw new Error(`no answer from ${this.service}`, { cause: error });
      }
      await delay(Math.min(pauseMs, 8000));
    }
  }
}

function parsed(block: string): ShootEvent | null {
  const field = (name: string): string | undefined => new RegExp(`^${name}: (.*)$`, 'm').exec(block)?.[1];
  const [event, data] = [field('event'), field('data')];
  return event === undefined || data === undefined
    ? null
    : ({ event, data: JSON.parse(data) as unknown } as ShootEvent);
}
