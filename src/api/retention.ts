import type { AppDeps } from './deps.js';
import { finishRemovals, removeShoot } from './remove-shoot.js';

const DAY_MS = 24 * 3600 * 1000;
const EVERY_MS = 3600 * 1000;
/** Removals that were cut short are finished sooner. */
const REMOVALS_EVERY_MS = 60_000;

type Parts = Parameters<typeof removeShoot>[0] & Pick<AppDeps, 'config'>;

/**
 * Deletes shoots that were complete, or got no frame, for RETAIN_DAYS. Whether one is old enough is asked again with its
 * row locked, so a frame that comes at the last moment keeps its shoot, and of several processes one deletes it.
 * Never throws. Says how many went.
 */
export async function sweepOldShoots(parts: Parts, nowMs: number): Promise<number> {
  const { config, store, log } = parts;
  if (config.retainDays === 0) return 0;
  const since = new Date(nowMs - config.retainDays * DAY_MS).toISOString();
  let gone = 0;
  try {
    for (const shootId of await store.listUntouched(since)) {
      if (!(await removeShoot(parts, shootId, since))) continue;
      gone += 1;
      log.info({ shootId, retainDays: config.retainDays }, 'shoot was kept long enough');
    }
  } catch (error) {
    log.error({ err: error }, 'old shoots could not be looked through');
  }
  return gone;
}

/** Sweeps now, every hour, and finishes removals every minute; returns how to stop. */
export async function keepSweeping(parts: Parts, now: () => number = Date.now): Promise<() => Promise<void>> {
  let running: Promise<unknown> = Promise.resolve();
  const inTurn = (work: () => Promise<unknown>): Promise<unknown> => (running = running.then(work));
  await inTurn(() => finishRemovals(parts));
  await inTurn(() => sweepOldShoots(parts, now()));
  const old = setInterval(() => void inTurn(() => sweepOldShoots(parts, now())), EVERY_MS);
  const removals = setInterval(() => void inTurn(() => finishRemovals(parts)), REMOVALS_EVERY_MS);
  return async () => {
    clearInterval(old);
    clearInterval(removals);
    await running;
  };
}
