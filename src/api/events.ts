import type { Response, Router } from 'express';
import type { FrameEvent, ShootStatus } from '../contracts/api.js';
import { StopledgerError } from '../errors.js';
import type { ShootChange } from '../store/port.js';
import type { AppDeps } from './deps.js';
import { addressedShoot } from './requests.js';
import { negotiated, resource } from './resource.js';
import { shootStatus } from './shoots.js';

/** A comment now and then, so that nothing on the way takes the silence for a dead connection. */
const HEARTBEAT_MS = 15_000;
/** Changes made by another process show up in the status after this long at the latest. */
const LOOK_AGAIN_MS = 5000;
/** A change is in the store before it is told: the last ones get this long to come before `ready` ends the stream. */
const SETTLE_MS = 50;
/** A reader that does not take what it is sent is dropped; it may come back and gets the state again. */
const MOST_UNREAD_BYTES = 1024 * 1024;
/** When a reader that found all streams taken may ask again. */
const FULL_AGAIN_SECONDS = 15;
/** Id of the last event: a reader that comes back with it has seen everything. */
const LAST_EVENT_ID = 'ready';

function send(
  response: Response,
  event: string,
  data: FrameEvent | ShootStatus | { shootId: string },
  id?: string,
): void {
  const idLine = id === undefined ? '' : `id: ${id}\n`;
  response.write(`event: ${event}\n${idLine}data: ${JSON.stringify(data)}\n\n`);
  if (response.writableLength > MOST_UNREAD_BYTES) response.destroy();
}

/**
 * Server-sent events (WHATWG HTML, section 9.2) of a shoot: `progress` (ShootStatus) first and whenever the shoot
 * itself changed, `frame` (FrameEvent) for every frame that changes, then `ready` (ShootStatus) or `gone`, and the end.
 * The state is told whole at the beginning, so a reader that comes back has lost nothing it needs; one that comes
 * back after `ready` is answered 204, which tells it to stay away.
 */
export function eventRoutes(router: Router, deps: AppDeps): void {
  const { store, events, config, shuttingDown, log } = deps;
  let open = 0;

  resource(router, '/v1/shoots/:id/events', {
    async get(request, response) {
      negotiated(request, response, ['text/event-stream']);
      const shoot = await addressedShoot(store, request);
      if (request.get('last-event-id') === LAST_EVENT_ID && (await shootStatus(deps, shoot)).state === 'ready') {
        response.status(204).end();
        return;
      }
      if (open >= config.maxEventStreams) {
        response.set('Retry-After', String(FULL_AGAIN_SECONDS));
        throw new StopledgerError('too-many-requests', `${open} event streams are open, which is the most allowed`);
      }
      // Gone while the store was asked: its end was told before anybody listened for it.
      if (response.closed) return;
      response.set({ 'Cache-Control': 'no-store', 'X-Accel-Buffering': 'no', Connection: 'keep-alive' });
      response.type('text/event-stream');
      if (request.method === 'HEAD') {
        response.end();
        return;
      }
      open += 1;
      response.on('close', () => {
        open -= 1;
      });
      response.flushHeaders();
      follow(shoot.id, response);
    },
  });

  function follow(shootId: string, response: Response): void {
    const pending: (ShootChange | null)[] = [];
    let busy = false;
    let ended = false;
    let toldVersion = 0;
    let settling: NodeJS.Timeout | undefined;

    const end = (): void => {
      ended = true;
      clearInterval(heartbeat);
      clearInterval(lookAgain);
      clearTimeout(settling);
      stopListening();
      shuttingDown.removeEventListener('abort', end);
      response.end();
    };

    /** Tells one change, or the state as it is (null). Ends the stream when there is no more to come. */
    const tell = async (change: ShootChange | null): Promise<void> => {
      const shoot = await store.getShoot(shootId);
      if (ended) return;
      if (shoot === null) {
        send(response, 'gone', { shootId });
        end();
        return;
      }
      toldVersion = shoot.version;
      const status = await shootStatus(deps, shoot);
      if (ended) return;
      const frame = change?.frame ?? null;
      if (frame !== null) {
        const { name, state, failure } = frame;
        const { progress } = status;
        send(response, 'frame', { shootId, name, state, ...(failure === null ? {} : { failure }), progress });
      } else send(response, 'progress', status);
      if (status.state === 'ready' && pending.length === 0) {
        clearTimeout(settling);
        settling = setTimeout(() => {
          if (busy || pending.length > 0) return; // What comes after it settles again.
          send(response, 'ready', status, LAST_EVENT_ID);
          end();
        }, SETTLE_MS);
      }
    };

    /** One after the other, so that readers get changes in the order in which they happened. */
    const work = async (): Promise<void> => {
      if (busy) return;
      busy = true;
      while (!ended && pending.length > 0) await tell(pending.shift() ?? null);
      busy = false;
    };
    const enqueue = (change: ShootChange | null): void => {
      pending.push(change);
      work().catch((error: unknown) => {
        log.error({ shootId, err: error }, 'event stream failed');
        end();
      });
    };

    const stopListening = events.listen(shootId, enqueue);
    const heartbeat = setInterval(() => response.write(': still here\n\n'), HEARTBEAT_MS);
    const lookAgain = setInterval(() => {
      store.getShoot(shootId).then(
        (shoot) => {
          if (shoot?.version !== toldVersion && !busy && pending.length === 0 && !ended) enqueue(null);
        },
        (error: unknown) => {
          log.error({ shootId, err: error }, 'event stream cannot look at the store');
        },
      );
    }, LOOK_AGAIN_MS);
    shuttingDown.addEventListener('abort', end);
    response.on('close', end);
    enqueue(null);
    if (shuttingDown.aborted) end();
  }
}
