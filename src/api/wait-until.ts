import { StopledgerError } from '../errors.js';
import type { AppDeps } from './deps.js';

/** Changes made by another process are seen after this long at the latest. */
const LOOK_AGAIN_MS = 2000;

/**
 * Looks until `probe` finds something, at every change of the shoot and now and then, for at most `waitMs`.
 * Null when the time is over or the client went away. Throws what `probe` throws, and `shutting-down`.
 */
export async function waitUntil<T>(
  deps: Pick<AppDeps, 'events' | 'shuttingDown'>,
  shootId: string,
  waitMs: number,
  clientGone: AbortSignal,
  probe: () => Promise<T | null>,
): Promise<T | null> {
  const seen = { changed: false };
  let wake = (): void => undefined;
  const stopListening = deps.events.listen(shootId, () => {
    seen.changed = true;
    wake();
  });
  const onAbort = (): void => {
    wake();
  };
  deps.shuttingDown.addEventListener('abort', onAbort);
  clientGone.addEventListener('abort', onAbort);
  const endsAt = performance.now() + waitMs;
  try {
    for (;;) {
      seen.changed = false;
      const found = await probe();
      if (found !== null || clientGone.aborted) return found;
      const leftMs = endsAt - performance.now();
      if (leftMs <= 0) return null;
      if (deps.shuttingDown.aborted) throw new StopledgerError('shutting-down', 'the service is shutting down');
      // A change that came while probing is looked at straight away.
      if (!seen.changed) {
        await new Promise<void>((resolve) => {
          const timer = setTimeout(resolve, Math.min(leftMs, LOOK_AGAIN_MS));
          wake = () => {
            clearTimeout(timer);
            resolve();
          };
        });
      }
    }
  } finally {
    stopListening();
    deps.shuttingDown.removeEventListener('abort', onAbort);
    clientGone.removeEventListener('abort', onAbort);
  }
}
