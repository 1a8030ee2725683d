import { setMaxListeners } from 'node:events';
import { createServer, type Server } from 'node:http';
import type { AddressInfo } from 'node:net';
import { pathToFileURL } from 'node:url';
import type { Logger } from 'pino';
import { createApp } from './api/app.js';
import type { AppDeps } from './api/deps.js';
import { Metrics } from './api/metrics.js';
import { ProgressByVersion } from './api/progress.js';
import { describe, recordOutcomes } from './api/record-outcomes.js';
import { forgetOverlays } from './api/overlays.js';
import { Reports } from './api/reports.js';
import { measuringOptionsOf, shootHref } from './api/requests.js';
import { keepSweeping } from './api/retention.js';
import { ShootEvents } from './api/shoot-events.js';
import { unfinishedJobs } from './api/unfinished-jobs.js';
import { type Config, readConfig } from './config.js';
import { StopledgerError } from './errors.js';
import { endOnSignal } from './end-on-signal.js';
import { createLog } from './log.js';
import type { NotifierParts } from './notify/notifier.js';
import { openNotifier } from './notify/open-notifier.js';
import { openFrameSource } from './queue/open-frame-source.js';
import { openFrameQueue } from './queue/open-queue.js';
import { redisAddress } from './queue/redis/address.js';
import { judgeShoot } from './shoot/judge.js';
import { readCalibrations } from './store/calibration-file.js';
import { openFrameFiles } from './store/open-files.js';
import { openShootRecords } from './store/open-records.js';

export interface RunningService {
  /** Where it answers, for example `http://127.0.0.1:4180`. */
  url: string;
  /** Ends it in order: no new requests, what runs is ended or handed back within SHUTDOWN_SECONDS. */
  close(): Promise<void>;
}

export interface ServiceOptions {
  log?: Logger;
  /** Another module to run in the measuring processes (tests). */
  poolEntry?: URL;
  /** The time by which shoots are old (tests). */
  now?: () => number;
  /** How webhooks are sent, in place of what is usual (tests). */
  webhooks?: Pick<NotifierParts, 'waitsMs' | 'timeLimitMs' | 'sweepMs' | 'lookup' | 'now'>;
}

/** Everything received but not measured goes back into the queue; over Redis that queue asks the store by itself. */
async function requeue(deps: AppDeps): Promise<void> {
  if (deps.config.redisUrl !== '') return;
  const shoots = new Map((await deps.store.listShoots()).map((shoot) => [shoot.id, shoot]));
  const waiting = await deps.store.requeueUnfinished(deps.config.frameMaxAttempts);
  for (const frame of waiting) {
    const shoot = shoots.get(frame.shootId);
    if (shoot === undefined) continue;
    const { shootId, name: frameName, sha256 } = frame;
    await deps.queue.add({ shootId, frameName, sha256, options: measuringOptionsOf(shoot, deps.calibrations) });
  }
  if (waiting.length > 0) deps.log.info({ frames: waiting.length }, 'frames received earlier are measured now');
}

function listen(server: Server, { host, port }: Config): Promise<AddressInfo> {
  return new Promise((resolve, reject) => {
    server.once('error', (error) => {
      reject(new StopledgerError('bad-configuration', `cannot listen on ${host} port ${port}: ${error.message}`));
    });
    server.listen(port, host, () => {
      resolve(server.address() as AddressInfo);
    });
  });
}

/** How much longer than SHUTDOWN_SECONDS the end may take: a server that is away must not hold it up. */
const GRACE_MS = 3000;

/** Waits for it, but no longer. */
async function inTime(work: Promise<unknown>, limitMs: number): Promise<void> {
  let timer: NodeJS.Timeout | undefined;
  const late = new Promise<void>((resolve) => {
    timer = setTimeout(resolve, limitMs);
  });
  await Promise.race([work, late]).finally(() => {
    clearTimeout(timer);
  });
}

/**
 * Starts the service: API and measuring processes, embedded or, with `REDIS_URL`, over Redis. Throws `bad-configuration`.
 * A start that fails leaves nothing open.
 */
export async function startService(config: Config, options: ServiceOptions = {}): Promise<RunningService> {
  const log = options.log ?? createLog(config);
  const opened: (() => Promise<unknown>)[] = [];
  try {
    return await openService(config, { ...options, log }, opened);
  } catch (error) {
    for (const close of opened.reverse()) {
      await inTime(close(), GRACE_MS).catch((err: unknown) => {
        log.error({ err }, 'not closed after a start that failed');
      });
    }
    throw error;
  }
}

/** `opened` gets how to close each part as soon as it is open. */
async function openService(
  config: Config,
  options: ServiceOptions & { log: Logger },
  opened: (() => Promise<unknown>)[],
): Promise<RunningService> {
  const { log } = options;
  const calibrations = await readCalibrations(config.calibrations);
  const records = await openShootRecords(config, log);
  opened.push(() => records.close());
  const { store } = records;
  const stop = new AbortController();
  // Every reader of events and every request that waits listens for it.
  setMaxListeners(0, stop.signal);
  const files = await openFrameFiles(config);
  const known = new Set((await store.listShoots()).map(({ id }) => id));
  // Processes that share records may share files, too: what another one may be receiving is left to it.
  const idleMs = records.changes === null ? 0 : 2 * config.requestTimeoutSeconds * 1000;
  await files.sweep(async (id) => known.has(id) || (await store.getShoot(id)) !== null, idleMs);

  const queue = await openFrameQueue(config, {
    localPath: (shootId, sha256) => files.localPath(shootId, sha256),
    unfinished: () => unfinishedJobs(store, calibrations),
    isPending: async ({ shootId, frameName }) => {
      const state = (await store.getFrameRecord(shootId, frameName))?.state;
      return state === 'received' || state === 'measuring';
    },
    onHandlerError: (error, job) => {
      const frame = job === null ? {} : { shootId: job.shootId, frameName: job.frameName };
      log.error({ ...frame, ...describe(error) }, 'not done yet; it is tried again');
    },
    log,
    ...(config.frameFiles === 'folder' ? {} : { source: await openFrameSource(config) }),
    ...(options.poolEntry === undefined ? {} : { poolEntry: options.poolEntry }),
  });
  opened.push(() => queue.close(0));
  const events = new ShootEvents(records.changes);
  const progress = new ProgressByVersion(store);
  const metrics = new Metrics({ store, queue });
  const reports = new Reports({ store, judge: judgeShoot });
  const notifier = await openNotifier(config, {
    deliveries: store.deliveries,
    async reportOf(shootId) {
      const shoot = await store.getShoot(shootId);
      return shoot && { shoot, report: (await reports.of(shoot)).report, href: `${shootHref(shootId)}/report` };
    },
    log,
    ...options.webhooks,
  });
  opened.push(() => notifier.close());
  events.whenDeleted((shootId) => {
    reports.forget(shootId);
    progress.forget(shootId);
    forgetOverlays(shootId);
  });
  const deps: AppDeps = {
    config,
    store,
    files,
    queue,
    events,
    progress,
    calibrations,
    judge: judgeShoot,
    reports,
    notifier,
    metrics,
    log,
    shuttingDown: stop.signal,
  };

  await queue.start(recordOutcomes(deps));
  await requeue(deps);
  await notifier.start();
  const stopSweeping = await keepSweeping(deps, options.now);
  opened.push(stopSweeping);

  const app = createApp(deps);
  const server = createServer({
    requestTimeout: config.requestTimeoutSeconds * 1000,
    headersTimeout: Math.min(60, config.requestTimeoutSeconds) * 1000,
    connectionsCheckingInterval: 5000,
  });
  server.on('request', app);
  // The handlers say when a body may come, so that one which would be refused is never sent.
  server.on('checkContinue', app);
  const { port } = await listen(server, config);
  const host = config.host.includes(':') ? `[${config.host}]` : config.host;
  const url = `http://${host}:${port}`;
  const over = config.redisUrl === '' ? 'this process' : redisAddress(config.redisUrl);
  log.info({ url, workers: config.workers, queue: over, dataDir: config.dataDir }, 'listening');

  let closing: Promise<void> | null = null;
  const close = (): Promise<void> => (closing ??= shutDown());
  async function shutDown(): Promise<void> {
    log.info('shutting down');
    stop.abort();
    const ended = new Promise<void>((resolve) => {
      server.close(() => {
        resolve();
      });
    });
    const idle = setInterval(() => {
      server.closeIdleConnections();
    }, 100);
    const deadlineMs = config.shutdownSeconds * 1000;
    const cut = setTimeout(() => {
      server.closeAllConnections();
    }, deadlineMs);
    await inTime(
      Promise.all([ended, queue.close(deadlineMs), notifier.close(), stopSweeping()]),
      deadlineMs + GRACE_MS,
    );
    clearInterval(idle);
    clearTimeout(cut);
    await inTime(records.close(), GRACE_MS);
    log.info('ended');
  }
  return { url, close };
}

/** Runs the service of this environment until SIGTERM or SIGINT; a second signal ends it at once. */
export async function runService(environment: NodeJS.ProcessEnv, options: ServiceOptions = {}): Promise<void> {
  const config = readConfig(environment);
  const service = await startService(config, options);
  endOnSignal(() => service.close());
}

if (process.argv[1] !== undefined && import.meta.url === pathToFileURL(process.argv[1]).href) {
  runService(process.env).catch((error: unknown) => {
    const told = error instanceof StopledgerError ? error.message : error;
    console.error(told);
    process.exit(1);
  });
}
