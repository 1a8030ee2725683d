import type { AppDeps } from './deps.js';

type Parts = Pick<AppDeps, 'store' | 'queue' | 'files' | 'events' | 'notifier' | 'log'>;

/** Everything that is kept of a shoot outside of its rows; safe to repeat. */
async function removeRest({ store, queue, files }: Parts, id: string): Promise<void> {
  await queue.dropShoot(id);
  await files.deleteShoot(id);
  await store.removalDone(id);
}

/**
 * Deletes a shoot and everything of it. The rows go first: from then on nothing is taken or stored for it. What cannot be
 * removed now (the bucket is away, this process is killed) is noted with them and removed later, by any process that
 * shares the store. False when there was no such shoot, or not untouched `untouchedSince`.
 */
export async function removeShoot(parts: Parts, id: string, untouchedSince?: string): Promise<boolean> {
  const { store, events, notifier, log } = parts;
  const attempts = await notifier.attemptsOf(id);
  if (!(await store.deleteShoot(id, untouchedSince))) return false;
  events.tell({ shootId: id, frame: null, deleted: true });
  await notifier.drop(attempts);
  try {
    await removeRest(parts, id);
  } catch (error) {
    log.error({ shootId: id, err: error }, 'not everything of a deleted shoot could be removed yet; it is tried again');
  }
  log.info({ shootId: id }, 'shoot deleted');
  return true;
}

/** What earlier removals left. Never throws. */
export async function finishRemovals(parts: Parts): Promise<void> {
  const { store, log } = parts;
  try {
    for (const shootId of await store.listRemovals()) {
      await removeRest(parts, shootId).catch((error: unknown) => {
        log.error({ shootId, err: error }, 'a deleted shoot could not be removed whole yet; it is tried again');
      });
    }
  } catch (error) {
    log.error({ err: error }, 'removals could not be looked through');
  }
}
