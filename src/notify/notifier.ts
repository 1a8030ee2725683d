import type { LookupFunction } from 'node:net';
import type { Logger } from 'pino';
import type { WebhookSettings } from '../config.js';
import type { ShootReport } from '../contracts/report.js';
import { StopledgerError } from '../errors.js';
import type { DeliveryAttempt, DeliveryRecord, DeliveryStore, ShootRecord } from '../store/port.js';
import { noticesOf } from './notice.js';
import { checkedWebhookUrl } from './origins.js';
import { type PostResult, postOnce } from './post.js';
import type { DeliverySchedule } from './schedule.js';
import { signedHeaders } from './signature.js';

/** Waits after each attempt that failed: 5 s, 30 s, 5 min, 30 min, 2 h, 5 h, 10 h, 14 h, 20 h, 24 h; then it is given up. */
const WAITS_SECONDS = [5, 30, 300, 1800, 7200, 18_000, 36_000, 50_400, 72_000, 86_400];
const TIME_LIMIT_MS = 15_000;
/** An attempt whose process died is made again after this. */
const CLAIM_MS = 60_000;
const SWEEP_MS = 30_000;

export interface NotifierParts {
  settings: WebhookSettings;
  deliveries: DeliveryStore;
  schedule: DeliverySchedule;
  /** The shoot and its report as of now; null when it is gone. */
  reportOf: (shootId: string) => Promise<{ shoot: ShootRecord; report: ShootReport; href: string } | null>;
  log: Logger;
  now?: () => number;
  waitsMs?: readonly number[];
  timeLimitMs?: number;
  sweepMs?: number;
  lookup?: LookupFunction;
}

/** Tells others that a shoot is done, by signed webhooks, each at least once and under an id of its own. */
export interface Notifier {
  start(): Promise<void>;
  /** To be called whenever a shoot may have become ready; never throws. */
  mayBeReady(shootId: string): Promise<void>;
  /** Attempts that are set for a shoot; asked before it is deleted. */
  attemptsOf(shootId: string): Promise<DeliveryAttempt[]>;
  drop(attempts: readonly DeliveryAttempt[]): Promise<void>;
  close(): Promise<void>;
}

const iso = (ms: number): string => new Date(ms).toISOString();

/** For a service without webhooks. */
export const SILENT: Notifier = {
  start: () => Promise.resolve(),
  mayBeReady: () => Promise.resolve(),
  attemptsOf: () => Promise.resolve([]),
  drop: () => Promise.resolve(),
  close: () => Promise.resolve(),
};

/** A studio with secrets of its own is signed for with those only: another's would verify what it may not know. */
function secretsOf({ secrets, studioSecrets }: WebhookSettings, studio: string | null): readonly string[] {
  const own = studioSecrets.filter((one) => one.studio === studio).map(({ secret }) => secret);
  return own.length > 0 ? own : secrets;
}

/** A receiver of a studio: those that answer do not wait for those that do not, and no studio for another's. */
const laneOf = ({ studio, url }: Pick<DeliveryRecord, 'studio' | 'url'>): string =>
  JSON.stringify([studio, URL.canParse(url) ? new URL(url).origin : url]);

export function createNotifier(parts: NotifierParts): Notifier {
  const { settings, deliveries, schedule, reportOf, log, now = Date.now } = parts;
  const waitsMs = parts.waitsMs ?? WAITS_SECONDS.map((seconds) => seconds * 1000);
  const stop = new AbortController();
  let timer: NodeJS.Timeout | undefined;

  async function announce(shootId: string): Promise<void> {
    const told = await reportOf(shootId);
    const webhook = told?.shoot.webhook ?? null;
    if (told === null || webhook === null) return;
    const at = iso(now());
    const notices = noticesOf(webhook, told.report, told.href, at);
    if (!(await deliveries.announce(shootId, at, notices))) return;
    for (const { id, event } of notices) {
      log.info({ shootId, delivery: id, event }, 'webhook is on its way');
      await schedule.set({ id, at }, laneOf({ studio: told.shoot.studio, url: webhook.url }));
    }
  }

  /** One shoot that cannot be judged keeps no other's webhook back. */
  async function announceOrSay(shootId: string): Promise<void> {
    try {
      await announce(shootId);
    } catch (error) {
      log.error({ shootId, err: error }, 'webhook could not be put on its way; it is tried again');
    }
  }

  async function post(delivery: DeliveryRecord): Promise<PostResult> {
    const { id, body } = delivery;
    let url: URL;
    try {
      // What was allowed when the shoot was made need not be allowed any more.
      url = checkedWebhookUrl(delivery.url, settings.allow);
    } catch (error) {
      return { unanswered: error instanceof StopledgerError ? error.message : String(error) };
    }
    const headers = signedHeaders(secretsOf(settings, delivery.studio), {
      id,
      timestampSeconds: Math.floor(now() / 1000),
      body,
    });
    const { privateRanges } = settings;
    const { timeLimitMs = TIME_LIMIT_MS, lookup } = parts;
    return postOnce(url, { headers, body }, { privateRanges, timeLimitMs, signal: stop.signal, ...(lookup === undefined ? {} : { lookup }) }); // prettier-ignore
  }

  /** What becomes of a delivery after an attempt. 410 says that nobody wants it any more. */
  function outcomeOf(result: PostResult, attempts: number): Parameters<DeliveryStore['settle']>[1] {
    const lastResult = 'answered' in result ? `answered ${result.answered}` : result.unanswered;
    const status = 'answered' in result ? result.answered : 0;
    if (status >= 200 && status < 300) return { state: 'delivered', lastResult, nextAttemptAt: null };
    const waitMs = waitsMs[attempts - 1];
    if (status === 410 || waitMs === undefined) return { state: 'given-up', lastResult, nextAttemptAt: null };
    return { state: 'waiting', lastResult, nextAttemptAt: iso(now() + waitMs) };
  }

  async function attempt(which: DeliveryAttempt): Promise<void> {
    try {
      const claimedUntil = iso(now() + CLAIM_MS);
      const delivery = await deliveries.claim(which, claimedUntil);
      if (delivery === null) return; // Made by another process, done, or the shoot is gone.
      const result = await post(delivery);
      const { id, shootId, event, attempts } = delivery;
      // Cut short by the end of this process: it is made again at the next start.
      const outcome = stop.signal.aborted && 'unanswered' in result
        ? { state: 'waiting' as const, lastResult: 'the service ended', nextAttemptAt: iso(now()) }
        : outcomeOf(result, attempts); // prettier-ignore
      if (!(await deliveries.settle({ id, at: claimedUntil }, outcome))) return;
      const line = { shootId, delivery: id, event, attempts, result: outcome.lastResult };
      if (outcome.state === 'delivered') log.info(line, 'webhook delivered');
      else if (outcome.state === 'given-up') log.error(line, 'webhook given up');
      else log.warn({ ...line, nextAttemptAt: outcome.nextAttemptAt }, 'webhook failed; it is tried again');
      if (outcome.nextAttemptAt !== null && !stop.signal.aborted)
        await schedule.set({ id, at: outcome.nextAttemptAt }, laneOf(delivery));
    } catch (error) {
      // The store is away: the sweep sets it again.
      log.error({ delivery: which.id, err: error }, 'webhook could not be looked after');
    }
  }

  /** What a process that died, or a queue that was away, left. */
  async function sweep(): Promise<void> {
    try {
      for (const shootId of await deliveries.listUntold()) await announceOrSay(shootId);
      for (const { id, at, ...whose } of await deliveries.listWaiting()) await schedule.set({ id, at }, laneOf(whose));
    } catch (error) {
      log.error({ err: error }, 'webhooks could not be looked through');
    }
    if (!stop.signal.aborted) timer = setTimeout(() => void sweep(), parts.sweepMs ?? SWEEP_MS);
  }

  return {
    async start() {
      await schedule.start(attempt);
      await sweep();
    },
    async mayBeReady(shootId) {
      try {
        for (const id of await deliveries.listUntold(shootId)) await announceOrSay(id);
      } catch (error) {
        log.error({ shootId, err: error }, 'webhook could not be put on its way; it is tried again');
      }
    },
    async attemptsOf(shootId) {
      return (await deliveries.list(shootId)).flatMap(({ id, nextAttemptAt }) => nextAttemptAt === null ? [] : [{ id, at: nextAttemptAt }]); // prettier-ignore
    },
    drop: (attempts) => schedule.drop(attempts),
    async close() {
      stop.abort();
      clearTimeout(timer);
      await schedule.close();
    },
  };
}
