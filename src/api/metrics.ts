import type { Request, RequestHandler, Response, Router } from 'express';
import { Counter, Gauge, Histogram, Registry, collectDefaultMetrics } from 'prom-client';
import type { Config } from '../config.js';
import type { FrameMeasurement } from '../contracts/measurement.js';
import type { FrameQueue } from '../queue/port.js';
import type { ShootStore } from '../store/port.js';
import { VERSION } from '../version.js';
import { requireToken } from './auth.js';
import { type Caller, knownTokens } from './callers.js';
import { within } from './within.js';
import { resource } from './resource.js';

/** A scrape does not wait longer for a store or queue that is away. */
const LIMIT_MS = 2000;
const STAGE_SECONDS = [0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1, 2.5, 5, 10, 30, 60];
const REQUEST_SECONDS = [0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1, 2.5, 5, 10, 30, 60, 300];
const METHODS = new Set(['GET', 'HEAD', 'POST', 'PUT', 'DELETE', 'OPTIONS']);

export interface MetricsParts {
  store: Pick<ShootStore, 'overview'>;
  queue: Pick<FrameQueue, 'counts' | 'workers'>;
  now?: () => number;
}

/**
 * Numbers about this service for a monitoring system (Prometheus text format). Two kinds, told apart in each help
 * text: "of this process", to be summed over all API processes, and "the same from every process", read from what they
 * share when asked for, never to be summed.
 */
export class Metrics {
  readonly registry = new Registry();
  readonly #outcomes: Counter<'outcome'>;
  readonly #stages: Histogram<'stage'>;
  readonly #requests: Histogram<'method' | 'route' | 'status'>;

  constructor({ store, queue, now = Date.now }: MetricsParts) {
    const registers = [this.registry];
    collectDefaultMetrics({ register: this.registry });

    new Gauge({ name: 'stopledger_info', help: 'Always 1; the version of this process.', labelNames: ['version'], registers }).set({ version: VERSION }, 1); // prettier-ignore
    this.#outcomes = new Counter({
      name: 'stopledger_frame_outcomes_total',
      help: 'Frames whose outcome this process stored, each once; of this process.',
      labelNames: ['outcome'],
      registers,
    });
    for (const outcome of ['measured', 'failed']) this.#outcomes.inc({ outcome }, 0);
    this.#stages = new Histogram({
      name: 'stopledger_frame_stage_seconds',
      help: 'Wall time of measuring by stage, of the frames whose outcome this process stored; of this process.',
      labelNames: ['stage'],
      buckets: STAGE_SECONDS,
      registers,
    });
    this.#requests = new Histogram({
      name: 'stopledger_http_request_seconds',
      help: 'Requests from their first byte to the last of the answer, by route; of this process.',
      labelNames: ['method', 'route', 'status'],
      buckets: REQUEST_SECONDS,
      registers,
    });
    this.#readFromShared(store, queue, now);
  }

  /** What several processes share: read when asked for, and left out while it cannot be read. */
  #readFromShared(store: MetricsParts['store'], queue: MetricsParts['queue'], now: () => number): void {
    const registers = [this.registry];
    const same = 'the same from every process';
    const readable = new Gauge({ name: 'stopledger_readable', help: 'Whether what these numbers are read from answered this process.', labelNames: ['part'], registers }); // prettier-ignore
    const frames = new Gauge({ name: 'stopledger_frames', help: `Frames of all shoots by state; ${same}.`, labelNames: ['state'], registers }); // prettier-ignore
    const oldest = new Gauge({ name: 'stopledger_queue_oldest_waiting_seconds', help: `Age of the frame that has waited longest, 0 when none waits; ${same}.`, registers }); // prettier-ignore
    const depth = new Gauge({ name: 'stopledger_queue_frames', help: `Frames in the queue that wait or run; ${same}.`, labelNames: ['state'], registers }); // prettier-ignore
    const workers = new Gauge({ name: 'stopledger_workers', help: `Worker processes that take frames over Redis, ${same}; embedded: measuring processes.`, registers }); // prettier-ignore

    const read = async (part: string, forget: () => void, look: () => Promise<void>): Promise<void> => {
      try {
        await within(LIMIT_MS, part, look());
        readable.set({ part }, 1);
      } catch {
        // A number that is not known is not told: an old one, or 0, would read as a fact.
        forget();
        readable.set({ part }, 0);
      }
    };
    const forgetFrames = (): void => {
      frames.reset();
      oldest.remove();
    };
    const forgetQueue = (): void => {
      depth.reset();
      workers.remove();
    };
    this.#look = async () => {
      await Promise.all([
        read('store', forgetFrames, async () => {
          const { frames: byState, oldestReceivedAt } = await store.overview();
          for (const [state, count] of Object.entries(byState)) frames.set({ state }, count);
          const ageMs = oldestReceivedAt === null ? 0 : now() - Date.parse(oldestReceivedAt);
          oldest.set(Math.max(0, ageMs) / 1000);
        }),
        read('queue', forgetQueue, async () => {
          const counts = await queue.counts();
          for (const [state, count] of Object.entries(counts)) depth.set({ state }, count);
          workers.set(await queue.workers());
        }),
      ]);
    };
  }

  #look: () => Promise<void> = () => Promise.resolve();

  /** An outcome that was stored, by this process and for the first time. */
  outcome(measurement: FrameMeasurement | null): void {
    this.#outcomes.inc({ outcome: measurement === null ? 'failed' : 'measured' });
    for (const [name, milliseconds] of Object.entries(measurement?.timing ?? {})) {
      this.#stages.observe({ stage: name.replace(/Ms$/, '') }, milliseconds / 1000);
    }
  }

  /** Measures every request; routes are told as they are declared, so that no id becomes a label. */
  requests(): RequestHandler {
    return (request, response, next) => {
      const startedAt = performance.now();
      response.on('close', () => {
        const method = METHODS.has(request.method) ? request.method : 'other';
        const status = response.writableFinished ? String(response.statusCode) : 'aborted';
        this.#requests.observe({ method, route: routeOf(request), status }, (performance.now() - startedAt) / 1000);
      });
      next();
    };
  }

  async text(): Promise<string> {
    await this.#look();
    return this.registry.metrics();
  }
}

function routeOf(request: Request): string {
  const { route } = request as { route?: { path?: unknown } };
  return typeof route?.path === 'string' ? route.path : 'none';
}

const NO_METRICS: Caller = { studio: null, scopes: new Set() };

/** `/metrics`, behind the tokens of the API and one of its own. */
export function metricsRoutes(router: Router, { metrics, config }: { metrics: Metrics; config: Config }): void {
  const operators = [...config.apiTokens, ...(config.metricsToken === '' ? [] : [config.metricsToken])];
  // Figures of all studios together: not for the token of one. Known and then refused, so that it is told why.
  const tokens = [
    ...knownTokens(operators, []),
    ...config.studioTokens.map(({ token }) => ({ token, caller: NO_METRICS })),
  ];
  resource(router, '/metrics', {
    get: [
      requireToken(tokens),
      async (_request: Request, response: Response) => {
        const text = await metrics.text();
        response.set('Cache-Control', 'no-store').type(metrics.registry.contentType).send(text);
      },
    ],
  });
}
